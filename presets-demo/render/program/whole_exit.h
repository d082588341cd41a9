// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is to be removed if the program is out of memory.  Not after a crash,
/// when names may be damaged: the next run clears that (whole_stale.h). Private
/// to whole_file, whole_folder and alloc.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H

#include <stdbool.h>

/// One of them.  `remove` must neither allocate nor lock: it may be called
/// while either is impossible.
typedef struct whole_exit {
  void (*remove)(void* user);
  void*              user;
  struct whole_exit* next;
} whole_exit;

/// The last noted is removed first.  From one thread only.
void
whole_exit_note(whole_exit* e, void (*remove)(void* user), void* user);

/// It has its name
void
whole_exit_complete(const whole_exit* e);

/// It was given up; once more does nothing
void
whole_exit_abandon(const whole_exit* e);

/// Whether all that was noted has its name: what fails now has spoilt nothing
bool
whole_exit_is_complete(void);

/// Remove all that is noted, from any thread
void
whole_exit_remove_all(void);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H
