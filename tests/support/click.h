// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Does a jump of a control click?
///
/// A steady 220 Hz sine at -18 dBFS RMS runs through a stage, the controls jump
/// in the middle, and the output above 4 kHz is measured: the peak after a
/// Butterworth high-pass of eighth order at 4 kHz, in double.  A change without
/// a click leaves nothing there (-80 dBFS or less); a stage that distorts has
/// harmonics there, which the peaks before and long after show.

#ifndef TESTS_SUPPORT_CLICK_H
#define TESTS_SUPPORT_CLICK_H

#include "check.h"

#include "common/core/stage.h"

#include <string.h>

#define CLICK_SINE_HZ  220.0
#define CLICK_EDGE_HZ  4000.0
#define CLICK_LIMIT_DB (-80.0)

/// Peaks above 4 kHz, in dBFS
typedef struct {
  double before_db; ///< In the last 100 ms before the jump
  double jump_db;   ///< In the 400 ms from the jump on
  double after_db;  ///< In the last 100 ms
} click_peaks;

/// Replaces x by its part above `edge_hz`, which is below half of `rate_hz`
static inline void
click_high_pass(double* x, uint32_t n, double edge_hz, double rate_hz)
{
  for (int j = 0; j < 4; ++j) {
    // Bilinear, H = s^2 / (s^2 + s/Q + 1), 1/Q = 2 cos(pi (2j + 1) / 16)
    const double g  = tan(DSP_PI * edge_hz / rate_hz);
    const double k  = 2.0 * cos(DSP_PI * (2.0 * j + 1.0) / 16.0);
    const double d  = 1.0 / (1.0 + g * (k + g));
    const double a1 = 2.0 * (g * g - 1.0) * d;
    const double a2 = (1.0 + g * (g - k)) * d;
    double       x1 = 0.0, x2 = 0.0, y1 = 0.0, y2 = 0.0;
    for (uint32_t i = 0; i < n; ++i) {
      const double y = d * (x[i] - 2.0 * x1 + x2) - a1 * y1 - a2 * y2;
      x2             = x1;
      x1             = x[i];
      y2             = y1;
      y1             = y;
      x[i]           = y;
    }
  }
}

static inline double
click_peak_db(const double* x, uint32_t n)
{
  double peak = 1e-12;
  for (uint32_t i = 0; i < n; ++i) {
    peak = fmax(peak, fabs(x[i]));
  }
  return gain_to_db(peak);
}

/// Returns the peaks of a recording with `jump` frames before the jump and at
/// least 500 ms after it
static inline click_peaks
click_of_recording(const float* y, uint32_t n, uint32_t jump, double rate_hz)
{
  const uint32_t tenth = (uint32_t)(0.1 * rate_hz);
  double*        x     = malloc(n * sizeof(double));
  assert_non_null(x);
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = (double)y[i];
  }
  click_high_pass(x, n, CLICK_EDGE_HZ, rate_hz);
  const click_peaks p = {.before_db = click_peak_db(x + jump - tenth, tenth),
                         .jump_db   = click_peak_db(x + jump, 4 * tenth),
                         .after_db  = click_peak_db(x + n - tenth, tenth)};
  free(x);
  return p;
}

/// Measures a jump of a mono stage's controls from `before` to `after` (an
/// x_params each, or floats in row order), off the control grid
static inline click_peaks
click_of_jump(const stage_ops* ops,
              double           rate_hz,
              const void*      before,
              const void*      after)
{
  const uint32_t n    = (uint32_t)(1.6 * rate_hz);
  const uint32_t jump = (uint32_t)(0.8 * rate_hz) + 13U;
  float*         x    = malloc(n * sizeof(float));
  void*          s    = calloc(1, ops->size);
  assert_non_null(x);
  assert_non_null(s);
  check_sine(x, n, CLICK_SINE_HZ, sqrt(2.0) * db_to_gain(ALIGN_RMS_DBFS),
             rate_hz);

  stage st;
  assert_true(stage_init(&st, ops, s, rate_hz, 1));
  stage_set(&st, before);
  stage_reset(&st);
  const float* in[]  = {x};
  float*       out[] = {x};
  stage_process(&st, in, out, 1, jump);
  stage_set(&st, after);
  const float* rest_in[]  = {x + jump};
  float*       rest_out[] = {x + jump};
  stage_process(&st, rest_in, rest_out, 1, n - jump);

  const click_peaks p = click_of_recording(x, n, jump, rate_hz);
  free(s);
  free(x);
  return p;
}

/// Jumps control `i` of the defaults from `from` to `to` and back; returns the
/// worse of both, in dBFS
static inline double
click_of_control_db(const stage_ops* ops,
                    double           rate_hz,
                    uint32_t         i,
                    float            from,
                    float            to)
{
  float a[32];
  float b[32];
  assert_true(ops->n_params <= 32);
  for (uint32_t j = 0; j < ops->n_params; ++j) {
    a[j] = b[j] = ops->params[j].def;
  }
  a[i]             = from;
  b[i]             = to;
  const double out = click_of_jump(ops, rate_hz, a, b).jump_db;
  return fmax(out, click_of_jump(ops, rate_hz, b, a).jump_db);
}

#endif // TESTS_SUPPORT_CLICK_H
