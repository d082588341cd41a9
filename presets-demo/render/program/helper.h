// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Runs another program that works for this one

#ifndef PRESETS_DEMO_RENDER_PROGRAM_HELPER_H
#define PRESETS_DEMO_RENDER_PROGRAM_HELPER_H

#include <signal.h>

typedef enum {
  HELPER_DONE,
  HELPER_FAILED, ///< Not found, or ended with another status than 0
  HELPER_SLOW,   ///< Killed at the time limit, or because `stop` was set
} helper_result;

/// Runs the program args[0] of the PATH with `args` up to a NULL, without input
/// or output, and waits for its end.  Killing it kills what it started, too.
helper_result
helper_run(char* const*                 args,
           double                       limit_s,
           const volatile sig_atomic_t* stop);

#endif // PRESETS_DEMO_RENDER_PROGRAM_HELPER_H
