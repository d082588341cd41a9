// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Notices when a setup, or one that it is based on, has changed on disk.

#ifndef PLUGINS_WINDOW_SETUP_WATCH_H
#define PLUGINS_WINDOW_SETUP_WATCH_H

#include "setup_list.h"

#include <sys/stat.h>

enum { SETUP_WATCHED = 8 };

typedef struct {
  char*       path;
  struct stat status;
} setup_watched;

typedef struct {
  setup_watched files[SETUP_WATCHED];
  uint32_t      n;
} setup_watch;

/// Watches the files of a setup that was just read, the first of them if there
/// are more than SETUP_WATCHED.  All zero: watches none.
void
setup_watch_begin(setup_watch* w, const setup_chain* chain);

/// Returns the path of a file that has changed since, NULL if none has
const char*
setup_watch_changed(const setup_watch* w);

/// Takes the files as they are now
void
setup_watch_again(setup_watch* w);

void
setup_watch_end(setup_watch* w);

#endif // PLUGINS_WINDOW_SETUP_WATCH_H
