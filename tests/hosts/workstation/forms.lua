-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua forms.lua SESSION LINES
-- Makes a session that plays every form, one after the other: each line of the
-- file LINES is a track, a form, its channels in, then control=value by number.
-- Without pan, so that a track's own samples come out.

local studio = require("studio")

local session = studio.new(arg[1])
for line in io.lines(arg[2]) do
  local name, form, n_in, settings = line:match("^(%S+) (%S+) (%d+)(.*)$")
  local track = studio.track(session, name, tonumber(n_in), 2)
  local stage = studio.stage(session, track, form)
  for index, value in settings:gmatch("(%d+)=(%S+)") do
    studio.set(stage, tonumber(index), tonumber(value))
  end
  track:panner_shell():set_bypassed(true)
end
studio.close(session)
print("done")
quit()
