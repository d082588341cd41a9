// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// cmocka, and the few things every test of sound needs

#ifndef TESTS_SUPPORT_CHECK_H
#define TESTS_SUPPORT_CHECK_H

// cmocka.h wants these four before it
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "common/core/dsp.h"

#include <stdlib.h>

/// Fails with got, want and tolerance
#define assert_near(got, want, tolerance) \
  check_near((got), (want), (tolerance), #got, __FILE__, __LINE__)

static inline void
check_near(double      got,
           double      want,
           double      tolerance,
           const char* what,
           const char* file,
           int         line)
{
  if (!(fabs(got - want) <= tolerance)) {
    print_error("%s: got %.9g, want %.9g within %.3g\n", what, got, want,
                tolerance);
    _fail(file, line);
  }
}

/// Fails with got and limit
#define assert_below(got, limit) \
  check_below((got), (limit), #got, __FILE__, __LINE__)

static inline void
check_below(double      got,
            double      limit,
            const char* what,
            const char* file,
            int         line)
{
  if (!(got < limit)) {
    print_error("%s: got %.9g, want below %.9g\n", what, got, limit);
    _fail(file, line);
  }
}

/// Returns the root mean square of `n` samples, in dBFS
static inline double
check_rms_db(const float* x, uint32_t n)
{
  double sum = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    sum += (double)x[i] * (double)x[i];
  }
  return gain_to_db(sqrt(sum / n) + 1e-12);
}

/// Fills with a sine of `peak`, starting at phase 0
static inline void
check_sine(float* x, uint32_t n, double f_hz, double peak, double rate_hz)
{
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = (float)(peak * sin(2.0 * DSP_PI * f_hz * i / rate_hz));
  }
}

/// Returns the amplitude of the component at `f_hz`; `n` should hold whole
/// periods
static inline double
check_tone(const float* x, uint32_t n, double f_hz, double rate_hz)
{
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / rate_hz;
    re += (double)x[i] * cos(phase);
    im += (double)x[i] * sin(phase);
  }
  return 2.0 * sqrt(re * re + im * im) / n;
}

/// Returns white noise, uniform in +-1, the same on every machine
static inline float
check_noise(uint32_t* seed)
{
  *seed = *seed * 1664525U + 1013904223U;
  return (float)(int32_t)*seed / 2147483648.0F;
}

#endif // TESTS_SUPPORT_CHECK_H
