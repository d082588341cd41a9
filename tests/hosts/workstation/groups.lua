-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua groups.lua SESSION FORM NUMBER RECORDED TRACK VALUE...
-- Makes a session of tracks with one stage each, the control NUMBER of which is
-- at VALUE.  The control RECORDED writes down what a hand moves it to while the
-- song plays.

local studio = require("studio")

local session = studio.new(arg[1])
for i = 5, #arg, 2 do
  local track = studio.track(session, arg[i], 1, 1)
  local stage = studio.stage(session, track, arg[2])
  studio.set(stage, tonumber(arg[3]), tonumber(arg[i + 1]))
  studio.record(stage, tonumber(arg[4]))
end
studio.close(session)
print("done")
quit()
