// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Finds DC in one channel, from the means of 100 ms pieces.
///
/// Playing has a mean as well, of either sign; DC is what is there in the
/// softest pieces, too: in the softest fifth, at least four standard errors
/// from none.  Digital silence does not count: it has no DC.
/// Less than 1 s tells nothing.  Fixed memory.

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_DC_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_DC_H

#include <stdint.h>

#define TAKE_DC_BINS 200 ///< 1 dB each, from -140 dBFS

typedef struct {
  uint32_t n;
  double   sum, squares; ///< Of the means
} dc_bin;

typedef struct {
  dc_bin bins[TAKE_DC_BINS]; ///< By the level of the pieces
} take_dc;

/// Adds a piece of `mean`, whose mean square without it is `power`
void
take_dc_add(take_dc* d, double mean, double power);

/// Returns the DC, signed, re full scale; 0 if there is none
double
take_dc_find(const take_dc* d);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_DC_H
