-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- ardour7-lua resave.lua SESSION VALUES
-- Opens a session, writes all its values into the file VALUES, saves and closes
-- it.

local studio = require("studio")

local session = studio.open(arg[1])
studio.write_values(session, arg[2])
studio.close(session)
print("done")
quit()
