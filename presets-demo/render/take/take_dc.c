// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_dc.h"

#include <math.h>

#define LOW_DB     (-140.0)
#define SOFT_SHARE 0.2
#define MIN_ALL    10U // 1 s: less has a mean by chance
#define MIN_PIECES 5U
#define ERRORS     4.0

void
take_dc_add(take_dc* d, double mean, double power)
{
  if (mean != 0.0 || power > 0.0) {
    const double  db = power > 0.0 ? 10.0 * log10(power) - LOW_DB : 0.0;
    dc_bin* const b =
      &d->bins[(uint32_t)fmin(fmax(db, 0.0), TAKE_DC_BINS - 1.0)];
    b->sum += mean;
    b->squares += mean * mean;
    ++b->n;
  }
}

double
take_dc_find(const take_dc* d)
{
  uint32_t all = 0;
  for (uint32_t i = 0; i < TAKE_DC_BINS; ++i) {
    all += d->bins[i].n;
  }
  const double wanted = fmax(MIN_PIECES, SOFT_SHARE * all);
  dc_bin       soft   = {.n = 0};
  for (uint32_t i = 0; i < TAKE_DC_BINS && soft.n < wanted; ++i) {
    soft.n += d->bins[i].n;
    soft.sum += d->bins[i].sum;
    soft.squares += d->bins[i].squares;
  }
  if (all < MIN_ALL || soft.n < MIN_PIECES) {
    return 0.0;
  }
  const double mean     = soft.sum / soft.n;
  const double variance = fmax(soft.squares / soft.n - mean * mean, 0.0);
  return mean * mean >= ERRORS * ERRORS * variance / soft.n ? mean : 0.0;
}
