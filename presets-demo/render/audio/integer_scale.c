// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "integer_scale.h"

#include "common/core/fastmath.h"
#include "common/core/stage.h"

#include <math.h>

#define PIECE 4096

/// Of the samples that are finite
WIDE_CLONES static float
peak_of(const float* x, size_t n)
{
  int32_t peak = 0;
  for (size_t i = 0; i < n; ++i) {
    // Without their signs, floats are in the order of their bits
    const int32_t magnitude = float_bits(x[i]) & 0x7FFFFFFF;
    const int32_t counts    = magnitude < 0x7F800000 ? magnitude : 0;
    peak                    = counts > peak ? counts : peak;
  }
  return float_of_bits(peak);
}

/// Of the rest of the file
static float
peak_ahead(SNDFILE* file)
{
  float      x[PIECE];
  float      peak = 0.0F;
  sf_count_t got  = 0;
  while ((got = sf_read_float(file, x, PIECE)) > 0) {
    peak = fmaxf(peak, peak_of(x, (size_t)got));
  }
  return peak;
}

bool
integer_scale_check(SNDFILE*     file,
                    const float* x,
                    size_t       n,
                    const char*  path,
                    failure*     f)
{
  float peak = peak_of(x, n);
  if (peak <= STAGE_INPUT_LIMIT) {
    return true;
  }
  // Full scale of 16, 24 and 32 bits
  static const double scales[] = {32768.0, 8388608.0, 2147483648.0};
  peak                         = fmaxf(peak, peak_ahead(file));
  for (size_t i = 0; i < sizeof(scales) / sizeof(scales[0]); ++i) {
    if ((double)peak <= scales[i]) {
      return fail_with(f,
                       "%s: samples reach %.7g: seems to be floating point at "
                       "integer scale; expected +-1.0 (divide by %.0f when "
                       "exporting)",
                       path, (double)peak, scales[i]);
    }
  }
  return fail_with(f, "%s: samples reach %.7g; expected +-1.0", path,
                   (double)peak);
}
