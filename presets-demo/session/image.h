// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How a stereo mix lies between the loudspeakers, and what is left of it on
/// one

#ifndef PRESETS_DEMO_SESSION_IMAGE_H
#define PRESETS_DEMO_SESSION_IMAGE_H

#include "probe.h"
#include "series.h"

typedef struct {
  double   ll, rr, lr; ///< Sums of products
  probe    mono;       ///< Of (left + right) / 2
  series   correlation;
  double   window[3]; ///< The sums since the last full window
  uint32_t n_window, window_frames;
} image;

void
image_init(image* m, double rate_hz);

void
image_clear(image* m);

void
image_add(image* m, const float* const* x, uint32_t n);

/// Of the whole: 1 the same on both sides, 0 unrelated, -1 opposite; NAN if a
/// side is silent
double
image_correlation(const image* m);

/// Level of (left + right) / 2 above the mean level of the sides: 0 dB if they
/// are the same, -3.01 dB if they are unrelated and equally loud
double
image_mono_db(const image* m);

#endif // PRESETS_DEMO_SESSION_IMAGE_H
