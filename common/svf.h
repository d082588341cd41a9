// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Any stable biquad as a state-variable filter that may be moved while it
/// runs.
///
/// A direct-form filter can ring or overflow when its coefficients move; the
/// trapezoidal state-variable form stays bounded.  Its coefficients ramp per
/// frame (glide.h) while a control moves and are constants otherwise.
///
/// V. Zavalishin, "The Art of VA Filter Design"; A. Wishnick, "Time-Varying
/// Filters for Musical Applications", DAFx-14.
///
/// Two channels share the coefficients.  State is double: a low filter at a
/// high rate needs it.  All real-time safe.

#ifndef COMMON_SVF_H
#define COMMON_SVF_H

#include "eq.h"
#include "glide.h"

/// v1 = a1 i1 + a2 (x - i2), ...; see svf_of_biquad()
typedef struct {
  double g, k, m0, m1, m2;
} svf_coefs;

/// Exact conversion of a stable biquad
svf_coefs
svf_of_biquad(biquad q);

typedef struct {
  svf_coefs at;               ///< Coefficients on the last grid line
  ramp      g, k, m0, m1, m2; ///< On the way to the next
  bool      moving;           ///< False: `at` is exact for the coming frames
  double    i1[MAX_CHANNELS], i2[MAX_CHANNELS];
} svf;

/// Zero the signal memory
void
svf_reset(svf* f);

/// Be at `q` at once (with svf_reset(), or before the first frame)
void
svf_snap(svf* f, biquad q);

/// On a grid line: aim for `q`.  Call on every line while anything moves and
/// until `moving` is false; a call with an unchanged design is cheap.
void
svf_push(svf* f, biquad q);

/// `n` frames of each channel up to the next grid line; out[k] may be in[k]
void
svf_process(svf*                f,
            const float* const* in,
            float* const*       out,
            uint32_t            n_channels,
            uint32_t            n);

#endif // COMMON_SVF_H
