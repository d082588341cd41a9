// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bench.h"

#include <soxr.h>

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define FRAMES BENCH_FRAMES
#define PIECE  4000U

float bench_input[MAX_CHANNELS][BENCH_FRAMES];

double
bench_now_ns(void)
{
  struct timespec t;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return 1e9 * (double)t.tv_sec + (double)t.tv_nsec;
}

double
bench_least(double a, double b)
{
  return a < b ? a : b;
}

/// Makes decaying notes with a noisy start
void
bench_fill_input(void)
{
  uint32_t seed = 1;
  for (uint32_t i = 0; i < BENCH_FRAMES; ++i) {
    const double t    = i / BENCH_RATE_HZ;
    const double u    = fmod(t, 0.3);
    seed              = seed * 1664525U + 1013904223U;
    const double pick = exp(-400.0 * u) * (double)(int32_t)seed / 2147483648.0;
    const double note = sin(2.0 * DSP_PI * 110.0 * t) +
                        0.4 * sin(2.0 * DSP_PI * 331.0 * t) +
                        0.2 * sin(2.0 * DSP_PI * 1103.0 * t);
    bench_input[0][i] = bench_input[1][i] =
      (float)(0.25 * exp(-4.0 * u) * note + 0.2 * pick);
  }
}

static soxr_t
resampler(double from, double to)
{
  soxr_error_t              error   = NULL;
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_HQ, 0);
  const soxr_io_spec_t      io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_runtime_spec_t one_thread = soxr_runtime_spec(1);
  soxr_t r = soxr_create(from, to, 1, &error, &io, &quality, &one_thread);
  if (!r) {
    fprintf(stderr, "bench: libsoxr: %s\n", soxr_strerror(error));
    exit(1);
  }
  return r;
}

static double
yardstick_pass(void)
{
  static float  wide[4 * PIECE + 4096], narrow[PIECE + 4096];
  static soxr_t up, down; // Kept: new ones would cause page faults
  if (!up) {
    up   = resampler(1.0, 4.0);
    down = resampler(4.0, 1.0);
  }

  const double start = bench_now_ns();
  for (uint32_t at = 0; at < FRAMES; at += PIECE) {
    size_t n_wide   = 0;
    size_t n_narrow = 0;
    soxr_process(up, bench_input[0] + at, PIECE, NULL, wide,
                 sizeof(wide) / sizeof(wide[0]), &n_wide);
    soxr_process(down, wide, n_wide, NULL, narrow,
                 sizeof(narrow) / sizeof(narrow[0]), &n_narrow);
  }
  return (bench_now_ns() - start) / FRAMES;
}

double
bench_yardstick_ns(void)
{
  static double least;
  const double  ns = yardstick_pass();
  least            = least > 0.0 ? bench_least(least, ns) : ns;
  return least;
}
