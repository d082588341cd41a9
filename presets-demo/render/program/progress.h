// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A progress bar on stderr: only on a terminal that knows control sequences,
/// only for work that takes more than a second, never wider than the terminal,
/// gone at the end

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PROGRESS_H
#define PRESETS_DEMO_RENDER_PROGRAM_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

typedef struct {
  char   label[128];
  bool   may_show;
  bool   is_shown;
  double start_s, last_s;
} progress;

/// Returns the seconds of a clock that only goes forward
double
progress_clock_s(void);

/// Starts a bar; with `is_quiet` nothing is shown
progress
progress_start(const char* label, bool is_quiet);

/// Shows progress; with a `total` of 0, the time only
void
progress_show(progress* p, uint64_t done, uint64_t total);

void
progress_end(progress* p);

#endif // PRESETS_DEMO_RENDER_PROGRAM_PROGRESS_H
