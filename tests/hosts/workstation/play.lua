-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua play.lua SESSION FOLDER FRAMES EXPORT...
-- Opens a session and exports its first FRAMES into FOLDER, once for each
-- EXPORT: a name, or NAME=TRACK+BUS... to hear only these (studio.hear).
-- A number is a pause in seconds, in which the session plays silence.

local studio = require("studio")

local session = studio.open(arg[1])
for i = 4, #arg do
  if tonumber(arg[i]) then
    sleep(tonumber(arg[i]))
  else
    local name, tracks = arg[i]:match("^([^=]*)=?(.*)$")
    studio.hear(session, tracks)
    studio.export(session, arg[2], name, tonumber(arg[3]))
  end
end
-- Not saved: after an export, with plugins or without, Ardour 7.3's runner often
-- crashes when it saves or closes
print("done")
os.exit(0)
