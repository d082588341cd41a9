// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Notices when a file that a session reads has changed on disk: the session,
/// its takes, its setups and what they are based on.  It looks twice a second,
/// so it works on any file system and with editors that replace files.

#ifndef PRESETS_DEMO_SESSION_WATCH_H
#define PRESETS_DEMO_SESSION_WATCH_H

#include "presets-demo/render/host/catalogue.h"
#include "presets-demo/session/file/session_file.h"

typedef struct watch watch;

/// Watches nothing yet
watch*
watch_new(void);

void
watch_free(watch* w);

/// A rendering begins: files are added as they are read
void
watch_begin(watch* w);

/// Adds a file as it is now.  Call it before the file is read: then no change
/// is missed.
void
watch_add(watch* w, const char* path);

/// Adds all that a session is about to read
void
watch_add_session(watch* w, const session* s, const catalogue* parts);

/// Adds the file that a failure names ("file:line: ...")
void
watch_add_fault(watch* w, const failure* f);

/// It has ended well: forgets what it did not read
void
watch_drop_unread(watch* w);

/// Waits until files have changed, and change no more.  Returns the name of
/// one, or NULL after a signal (signals.h).
const char*
watch_wait(watch* w);

#endif // PRESETS_DEMO_SESSION_WATCH_H
