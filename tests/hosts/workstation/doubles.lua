-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua doubles.lua SESSION PRESET
-- Makes a session with one take on four tracks: through the row, through the
-- same row again, through the row with all stages off, and through nothing.

local studio = require("studio")

local ENABLED = 0 -- Number of the control

local session = studio.new(arg[1])

local function row(name, enabled)
  local track = studio.track(session, name, 1, 2)
  for _, stem in ipairs(studio.ROW) do
    local stage = studio.stage(session, track, stem, arg[2])
    studio.set(stage, ENABLED, enabled)
  end
end

row("take", 1)
row("double", 1)
row("off", 0)
studio.track(session, "dry", 1, 2)
studio.close(session)
print("done")
quit()
