-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua strip.lua SESSION PRESET GAIN_DB
-- Makes a session with one take on two tracks, through the row with its bypass
-- matched and through nothing, and a third track that can record both.

local studio = require("studio")

local MATCH_BYPASS, GAIN = 1, 2 -- Numbers of controls; the second of di-cleanup

local session = studio.new(arg[1])
local take = studio.track(session, "take", 1, 1)
for _, stem in ipairs(studio.ROW) do
  local stage = studio.stage(session, take, stem, arg[2])
  studio.set(stage, MATCH_BYPASS, 1)
  if stem == "di-cleanup" then
    studio.set(stage, GAIN, tonumber(arg[3]))
  end
end
studio.track(session, "dry", 1, 1)
studio.listen(session, studio.track(session, "record", 2, 2), { "take", "dry" })
studio.close(session)
print("done")
quit()
