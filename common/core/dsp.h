// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Limits, decibels and time constants shared by all of common/.
///
/// Conventions: 0 dBFS is a sample of 1.0; RMS is the mathematical RMS, so a
/// full-scale sine is -3.01 dBFS RMS; level-dependent stages expect playing at
/// ALIGN_RMS_DBFS.  `n` counts frames.  Every function here is real-time safe.

#ifndef COMMON_CORE_DSP_H
#define COMMON_CORE_DSP_H

#include "steady.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

/// After a declaration: the function runs on the audio thread, so no heap, lock
/// or system call.  Compilers that know the attribute check it by
/// `./dev realtime`; for others it is empty.
#if defined(__has_attribute)
#  if __has_attribute(nonblocking)
#    define NONBLOCKING __attribute__((nonblocking))
#  endif
#endif
#ifndef NONBLOCKING
#  define NONBLOCKING
#endif

#define DSP_MIN_RATE_HZ 8000.0
#define DSP_MAX_RATE_HZ 384000.0

/// Frames of a whole number of ms at the lowest and at the highest rate, for
/// static assertions
#define DSP_LEAST_FRAMES(ms) ((uint32_t)DSP_MIN_RATE_HZ / 1000U * (ms))
#define DSP_MOST_FRAMES(ms)  ((uint32_t)DSP_MAX_RATE_HZ / 1000U * (ms))

/// Stages work on this grid: controls glide, and slow states move, once per
/// CONTROL_FRAMES; a call to `process` never crosses a line of the grid
#define CONTROL_FRAMES 32

/// Whether a line of `size` (a power of two) holds a delay of `frames`, for
/// static assertions
#define DELAY_HOLDS(size, frames) \
  (((size) & ((size)-1U)) == 0U && (size) >= (frames) + CONTROL_FRAMES)

#define MAX_CHANNELS 2

/// Level that stages with a level-dependent sound expect from playing
#define ALIGN_RMS_DBFS (-18.0)

#define DSP_PI 3.14159265358979323846

static inline bool
dsp_rate_is_valid(double rate_hz)
{
  return rate_hz >= DSP_MIN_RATE_HZ && rate_hz <= DSP_MAX_RATE_HZ;
}

static inline double
db_to_gain(double db)
{
  return steady_exp(db * 0.11512925464970228420); // ln(10) / 20
}

/// Returns a magnitude in dB; `gain` must be above 0
static inline double
gain_to_db(double gain)
{
  return 8.6858896380650365530 * steady_log(gain); // 20 / ln(10)
}

static inline float
clampf(float x, float lo, float hi)
{
  return x < lo ? lo : x > hi ? hi : x;
}

static inline double
clampd(double x, double lo, double hi)
{
  return x < lo ? lo : x > hi ? hi : x;
}

/// Rises from 0 to 1 as `u` does, with a slope of 0 at both ends: 3 u^2 - 2 u^3
static inline float
smoothstepf(float u)
{
  return u * u * (3.0F - 2.0F * u);
}

static inline double
smoothstepd(double u)
{
  return u * u * (3.0 - 2.0 * u);
}

/// Returns the share of the way that a one-pole with time constant `tau_s`
/// covers in one step of `rate_hz`: y += share * (x - y) reaches 63.2 % after
/// tau_s
static inline double
one_pole_share(double tau_s, double rate_hz)
{
  return -steady_expm1(-1.0 / (tau_s * rate_hz));
}

#endif // COMMON_CORE_DSP_H
