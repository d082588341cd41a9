// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Any stable biquad as a state-variable filter that may be moved while it
/// runs.
///
/// A direct-form filter can ring or overflow when its coefficients move; the
/// trapezoidal state-variable form stays bounded.  Its coefficients ramp per
/// frame (common/core/glide.h) while a control moves and are constants
/// otherwise.
///
/// V. Zavalishin, "The Art of VA Filter Design"; A. Wishnick, "Time-Varying
/// Filters for Musical Applications", DAFx-14.
///
/// Two channels share the coefficients.  State is double: a low filter at a
/// high rate needs it.  All real-time safe.

#ifndef COMMON_FILTERS_SVF_H
#define COMMON_FILTERS_SVF_H

#include "common/core/glide.h"
#include "common/core/lanes.h"
#include "eq.h"

/// y = m0 x + m1 band-pass + m2 low-pass; see svf_of_biquad()
typedef struct {
  double g, k, m0, m1, m2;
} svf_coefs;

/// Converts a stable biquad exactly, of first order too
svf_coefs
svf_of_biquad(biquad q);

/// Returns a filter between two: `share` 0 is `a`, 1 is `b`.  Stable for 0 to
/// 1, and free of clicks on the way from one to the other.
svf_coefs
svf_mix(svf_coefs a, svf_coefs b, double share);

/// Returns the filter with a scaled effect on the signal: x + share (H(x) - x)
svf_coefs
svf_scale(svf_coefs c, double share);

/// One step of the filter with constant coefficients, written out:
/// y = d x + c1 i1 + c2 i2, and the new i1 and i2 likewise
typedef struct {
  double d, c1, c2;
  double b1, a11, a12;
  double b2, a21, a22;
} svf_step;

typedef struct {
  svf_coefs to;               ///< The target
  biquad    design;           ///< Its design, from svf_snap() or svf_push()
  ramp      g, k, m0, m1, m2; ///< On the way there
  bool      moving;           ///< False: `step` is exact for the coming frames
  svf_step  step;
  f64x2     i1, i2; ///< Signal memory of the two channels
} svf;

/// Zeroes the signal memory
void
svf_reset(svf* f);

/// Jumps to `q` (with svf_reset(), or before the first frame)
void
svf_snap(svf* f, biquad q);

void
svf_snap_coefs(svf* f, svf_coefs c);

/// Aims for `q` on a grid line.  Call on every line while anything moves and
/// until `moving` is false; a call with an unchanged design is cheap.
void
svf_push(svf* f, biquad q);

void
svf_push_coefs(svf* f, svf_coefs c);

/// Does the same on every second line only, for a stage with many filters:
/// while all of them move, their designs cost most.  Not to be mixed with the
/// others.
void
svf_push_slow(svf* f, biquad q);

void
svf_push_coefs_slow(svf* f, svf_coefs c);

/// Runs `n` frames of each channel through `n_filters` in series, at most up to
/// the next grid line; out[k] may be in[k].  Cheaper than one by one, and
/// rounds to float only once, after the last.
void
svf_cascade(svf*                f,
            uint32_t            n_filters,
            const float* const* in,
            float* const*       out,
            uint32_t            n_channels,
            uint32_t            n);

/// Does the same on frames of doubles, in place; lane 1 is ignored in mono
void
svf_run(svf* f, uint32_t n_filters, f64x2* x, uint32_t n_channels, uint32_t n);

/// Convert frames from floats to doubles and back; lane 1 is 0 in mono
void
svf_load(const float* const* in, f64x2* x, uint32_t n_channels, uint32_t n);

void
svf_store(const f64x2* x, float* const* out, uint32_t n_channels, uint32_t n);

#endif // COMMON_FILTERS_SVF_H
