-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua demo.lua SESSION VALUES STRIP...
-- Makes the demo session by hand, as the README says.  Each STRIP is
--   send NAME PRESET                    a stereo bus with the send in it
--   track NAME PRESET GAIN_DB PAN ALIGN_DB ROOM_DB PLATE_DB
--   master PRESET                       the bus pair
-- as one word, with commas between.  Writes all values into the file VALUES.

local studio = require("studio")

local GAIN = 2 -- Number of the control gain_db of di-cleanup

local session = studio.new(arg[1])
local sends = {}

local strips = {}

function strips.send(name, preset)
  sends[name] = studio.bus(session, name)
  studio.stage(session, sends[name], name .. "-send-stereo", preset)
end

function strips.track(name, preset, gain_db, pan, align_db, room_db, plate_db)
  local track = studio.track(session, name, 1, 2)
  for _, stem in ipairs(studio.ROW) do
    local stage = studio.stage(session, track, stem, preset)
    if stem == "di-cleanup" then
      studio.set(stage, GAIN, tonumber(align_db))
    end
  end
  studio.level(track, tonumber(gain_db), tonumber(pan))
  studio.send(session, track, sends.room, tonumber(room_db))
  studio.send(session, track, sends.plate, tonumber(plate_db))
end

function strips.master(preset)
  studio.stage(session, session:master_out(), "bus-tone", preset)
  studio.stage(session, session:master_out(), "bus-leveler", preset)
end

for i = 3, #arg do
  local words = {}
  for word in arg[i]:gmatch("[^,]+") do
    words[#words + 1] = word
  end
  strips[words[1]](table.unpack(words, 2))
end
studio.write_values(session, arg[2])
studio.close(session)
print("done")
quit()
