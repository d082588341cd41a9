// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Checks that a session does not replace what it reads

#ifndef PRESETS_DEMO_SESSION_FILE_SESSION_INPUTS_H
#define PRESETS_DEMO_SESSION_FILE_SESSION_INPUTS_H

#include "presets-demo/render/setup/setup.h"
#include "session_file.h"

/// Returns false with a failure that names the line of the session if the older
/// folder at `folder` holds the session, a track, or a setup or a base of one,
/// or its cache; or if a setup is faulty.  Without a folder only the latter.
bool
session_inputs_check(const session*   s,
                     const catalogue* parts,
                     const char*      folder,
                     failure*         f);

#endif // PRESETS_DEMO_SESSION_FILE_SESSION_INPUTS_H
