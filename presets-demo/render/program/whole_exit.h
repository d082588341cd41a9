// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Incomplete output, to be removed when the program runs out of memory.  Not
/// after a crash, which may have damaged the names: the next run clears that
/// (whole_stale.h).  Private to whole_file, whole_folder and alloc.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H

#include <stdbool.h>

/// One of them.  `remove` must neither allocate nor lock.
typedef struct whole_exit {
  void (*remove)(void* user);
  void*              user;
  struct whole_exit* next;
} whole_exit;

/// Notes one; the last one is removed first.  From one thread only.
void
whole_exit_note(whole_exit* e, void (*remove)(void* user), void* user);

/// Forgets one that has got its name
void
whole_exit_complete(const whole_exit* e);

/// Forgets one that was removed; does nothing the second time
void
whole_exit_abandon(const whole_exit* e);

/// Returns true if all that was noted has got its name
bool
whole_exit_is_complete(void);

/// Removes all that are noted, from any thread
void
whole_exit_remove_all(void);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_EXIT_H
