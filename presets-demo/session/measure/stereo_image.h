// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Correlation of a stereo mix, and its level in mono

#ifndef PRESETS_DEMO_SESSION_MEASURE_STEREO_IMAGE_H
#define PRESETS_DEMO_SESSION_MEASURE_STEREO_IMAGE_H

#include "probe.h"
#include "time_series.h"

typedef struct {
  double      ll, rr, lr; ///< Sums of products
  probe_bank* bank;
  probe       mono; ///< Of (left + right) / 2: the spectrum
  time_series correlation;
  double      window[3]; ///< The sums since the last full window
  uint32_t    n_window, window_frames;
} stereo_image;

/// Begins the image of a mix of `n_frames`; `spectra` must outlive it
void
stereo_image_init(stereo_image*   m,
                  double          rate_hz,
                  uint64_t        n_frames,
                  spectrum_tools* spectra);

void
stereo_image_clear(stereo_image* m);

void
stereo_image_add(stereo_image* m, const float* const* x, uint32_t n);

/// Returns the correlation of the whole: 1 for equal sides, 0 for unrelated, -1
/// for opposite; NAN if a side is silent
double
stereo_image_correlation(const stereo_image* m);

/// Returns the level of (left + right) / 2 relative to the mean level of the
/// sides: 0 dB if they are the same, -3.01 dB if they are unrelated and equally
/// loud
double
stereo_image_mono_db(const stereo_image* m);

#endif // PRESETS_DEMO_SESSION_MEASURE_STEREO_IMAGE_H
