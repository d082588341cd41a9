-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua clicks.lua SESSION LINES
-- Makes a session with automation: each line of the file LINES is a track, a
-- form, the number of a control, two values, and the frames of the jump from one
-- to the other and back.

local studio = require("studio")

local session = studio.new(arg[1])
for line in io.lines(arg[2]) do
  local name, form, index, a, b, there, back =
    line:match("^(%S+) (%S+) (%d+) (%S+) (%S+) (%d+) (%d+)$")
  local track = studio.track(session, name, 1, 2)
  local stage = studio.stage(session, track, form)
  studio.automate(stage, tonumber(index), {
    { 0, tonumber(a) }, { tonumber(there), tonumber(b) }, { tonumber(back), tonumber(a) },
  })
  track:panner_shell():set_bypassed(true)
end
studio.close(session)
print("done")
quit()
