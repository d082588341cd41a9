-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua windows.lua SESSION FORM...
-- Makes a session with all forms on one track.

local studio = require("studio")

local session = studio.new(arg[1])
local track = studio.track(session, "take", 1, 2)
for i = 2, #arg do
  studio.stage(session, track, arg[i])
end
studio.close(session)
print("done")
quit()
