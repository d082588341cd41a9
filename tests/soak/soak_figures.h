// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Figures of each hour of a soak, and how far they may creep

#ifndef TESTS_SOAK_SOAK_FIGURES_H
#define TESTS_SOAK_SOAK_FIGURES_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Limits of creep, relative to the second hour.  Stages that repeat with the
/// loop give the same bits; the echo's flutter and the sends' moving tails do
/// not.
#define RMS_DB    0.01
#define PEAK_DB   0.5
#define DC_DB     (-80.0) ///< Re the RMS
#define CHANGE_DB 0.05
#define GROWTH_KB 256

typedef struct {
  double rms_db, peak_db, dc, change_db;
  long   memory_kb;
} hour_figures;

/// Returns the resident memory: the second number of /proc/self/statm, in pages
static inline long
memory_kb(void)
{
  char        text[128] = "";
  FILE* const f         = fopen("/proc/self/statm", "r");
  if (f) {
    text[fread(text, 1, sizeof(text) - 1, f)] = '\0';
    (void)fclose(f);
  }
  const long pages = strtol(text + strcspn(text, " "), NULL, 10);
  return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

typedef struct {
  double squares, sum, n;
  float  peak;
  bool   is_finite;
} sums;

static inline void
add_frames(sums* a, const float* x, uint32_t n)
{
  double squares = 0.0;
  double sum     = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    squares += (double)x[i] * (double)x[i];
    sum += (double)x[i];
    a->peak = fmaxf(a->peak, fabsf(x[i]));
  }
  a->squares += squares;
  a->sum += sum;
  a->n += n;
  a->is_finite = a->is_finite && isfinite(squares); // A NaN or infinity stays
}

/// Returns the figures of one hour
static inline hour_figures
figures_of(const sums* a, double change_db)
{
  return (hour_figures){
    .rms_db    = 10.0 * log10(a->squares / a->n + 1e-30),
    .peak_db   = 20.0 * log10((double)a->peak + 1e-15),
    .dc        = a->sum / a->n,
    .change_db = change_db,
    .memory_kb = memory_kb(),
  };
}

/// Returns the largest differences from the second hour
static inline hour_figures
find_creep(const hour_figures* hours, int n)
{
  hour_figures worst = {.dc = 0.0};
  for (int i = 2; i < n; ++i) {
    const hour_figures* const a = &hours[1];
    const hour_figures* const b = &hours[i];
    worst.rms_db    = fmax(worst.rms_db, fabs(b->rms_db - a->rms_db));
    worst.peak_db   = fmax(worst.peak_db, fabs(b->peak_db - a->peak_db));
    worst.dc        = fmax(worst.dc, fabs(b->dc - a->dc));
    worst.change_db = fmax(worst.change_db, fabs(b->change_db - a->change_db));
    if (b->memory_kb - a->memory_kb > worst.memory_kb) {
      worst.memory_kb = b->memory_kb - a->memory_kb;
    }
  }
  return worst;
}

static inline void
print_hour(const char* stem, int n, const hour_figures* h)
{
  printf("%-17s hour %3d: RMS %.4f dBFS, peak %.4f dBFS, DC %.3g, change "
         "%.3f dB, %ld KiB\n",
         stem, n, h->rms_db, h->peak_db, h->dc, h->change_db, h->memory_kb);
  (void)fflush(stdout);
}

/// Prints the line of one plugin; returns true if nothing creeps
static inline bool
judge(const char* stem, const hour_figures* hours, int n, double x_fast)
{
  const hour_figures w       = find_creep(hours, n);
  const hour_figures last    = hours[n - 1];
  const double       dc_db   = 20.0 * log10(w.dc + 1e-15) - hours[1].rms_db;
  const bool         is_good = w.rms_db <= RMS_DB && w.peak_db <= PEAK_DB &&
                       dc_db <= DC_DB && w.change_db <= CHANGE_DB &&
                       w.memory_kb <= GROWTH_KB;
  printf("%-17s%5d%9.2f%9.2f%11.6f%10.4f%10.0f%11.5f%9ld%8.0f  %s\n", stem, n,
         last.rms_db, last.peak_db, w.rms_db, w.peak_db, dc_db, w.change_db,
         w.memory_kb, x_fast, is_good ? "steady" : "CREEPS");
  (void)fflush(stdout);
  return is_good;
}

#endif // TESTS_SOAK_SOAK_FIGURES_H
