// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Clocks, and waiting for one

#ifndef TESTS_BENCH_CLOCK_H
#define TESTS_BENCH_CLOCK_H

#include <time.h>

static inline double
clock_s(clockid_t id)
{
  struct timespec t;
  (void)clock_gettime(id, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// Sleeps until CLOCK_MONOTONIC is there
static inline void
clock_sleep_until(double due_s)
{
  const time_t          whole_s = (time_t)due_s;
  const struct timespec until   = {whole_s,
                                   (long)(1e9 * (due_s - (double)whole_s))};
  (void)clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL);
}

#endif // TESTS_BENCH_CLOCK_H
