// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A triode stage, or two in a row, on a bench: sources and measurements

#ifndef TESTS_TUBE_TUBE_RIG_H
#define TESTS_TUBE_TUBE_RIG_H

#include "tests/support/check.h"

#include "common/tube/tube_gain.h"

#include <string.h>

#define RIG_RATE_HZ 192000.0

/// The stage of most figures: 250 V, 100 kohm, 1.5 kohm, 22 uF, driven from 38
/// kohm through 22 nF, grid leak 1 Mohm, load 330 kohm through 22 nF
static const tube_parts rig_stage = {
  .plate_ohm   = 100e3,
  .cathode_ohm = 1500,
  .cathode_f   = 22e-6,
  .source_ohm  = 38e3,
  .coupling_f  = 22e-9,
  .leak_ohm    = 1e6,
  .load_ohm    = 330e3,
  .load_f      = 22e-9,
};

#define RIG_SUPPLY_V 250.0

typedef struct {
  tube_table     table;
  tube_rest_ramp rest;
  tube_gain      gain[2];
  uint32_t       n_stages;
  double         rate_hz;
  double         phase; ///< Of the sines of rig_sines(), in samples
} tube_rig;

/// Builds the table and takes the operating point
static inline void
rig_table(tube_rig* r, const tube_parts* p, double supply_v)
{
  memset(r, 0, sizeof(*r));
  tube_table_build(&r->table, &triode_12ax7, tube_parts_grid_ohm(p),
                   tube_parts_plate_ohm(p), 0.4 * supply_v, 1.15 * supply_v);
  r->rest = (tube_rest_ramp){.at = tube_rest_find(&r->table, p, supply_v, 0.0)};
}

/// Starts one stage at rest, in groups of `group`; `out` as in
/// tube_gain_init(), of a source of 0 ohm
static inline void
rig_start_groups(tube_rig*         r,
                 const tube_parts* p,
                 tube_out          out,
                 double            rate_hz,
                 uint32_t          group)
{
  r->n_stages = 1;
  r->rate_hz  = rate_hz;
  r->phase    = 0.0;
  tube_gain_init(&r->gain[0], &r->table, p, out, 0.0, rate_hz, group);
  tube_gain_reset(&r->gain[0], &r->rest.at);
}

/// The same in the largest groups
static inline void
rig_start(tube_rig* r, const tube_parts* p, tube_out out, double rate_hz)
{
  rig_start_groups(r, p, out, rate_hz, TUBE_GROUP_MAX);
}

/// `n` samples, in place
static inline void
rig_process(tube_rig* r, double* x, uint32_t n)
{
  tube_gain* gain = r->gain;
  tube_gain_process(&gain, r->n_stages, &r->rest, &x, 1, n);
}

/// Plays two tones for `n` samples, a multiple of 4, into `y` (NULL: discards
/// them)
static inline void
rig_sines(tube_rig* r,
          double    f1,
          double    v1,
          double    f2,
          double    v2,
          double*   y,
          uint32_t  n)
{
  for (uint32_t i = 0; i < n; i += TUBE_GROUP_MAX) {
    double x[TUBE_GROUP_MAX];
    for (uint32_t k = 0; k < TUBE_GROUP_MAX; ++k) {
      r->phase += 1.0;
      const double t = 2.0 * DSP_PI * r->phase / r->rate_hz;
      x[k]           = v1 * sin(f1 * t) + v2 * sin(f2 * t);
    }
    rig_process(r, x, TUBE_GROUP_MAX);
    if (y) {
      memcpy(y + i, x, sizeof(x));
    }
  }
}

/// Amplitude of a component; `n` holds whole periods
static inline double
rig_tone(const double* y, uint32_t n, double f_hz, double rate_hz)
{
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / rate_hz;
    re += y[i] * cos(phase);
    im += y[i] * sin(phase);
  }
  return 2.0 * hypot(re, im) / n;
}

/// Measures the harmonics of a sine over a window, after it has settled.  `db`
/// gets the second to fifth, against the first, which is returned, in V.
static inline double
rig_harmonics(tube_rig* r,
              double    f_hz,
              double    drive_v,
              double    settle_s,
              double    window_s,
              double*   db)
{
  const uint32_t n_settle = (uint32_t)lrint(settle_s * r->rate_hz) & ~3U;
  const uint32_t n        = (uint32_t)lrint(window_s * r->rate_hz);
  double* const  y        = malloc((n + 4) * sizeof(double));
  assert_non_null(y);
  rig_sines(r, f_hz, drive_v, 0.0, 0.0, NULL, n_settle);
  rig_sines(r, f_hz, drive_v, 0.0, 0.0, y, (n + 3) & ~3U);
  const double first = rig_tone(y, n, f_hz, r->rate_hz);
  for (uint32_t h = 2; h <= 5; ++h) {
    db[h - 2] =
      gain_to_db(rig_tone(y, n, h * f_hz, r->rate_hz) / first + 1e-12);
  }
  free(y);
  return first;
}

/// Gain at a small signal, corrected for the loss by the mean over a sample
static inline double
rig_gain(tube_rig* r, double f_hz)
{
  double       db[4];
  const double v =
    rig_harmonics(r, f_hz, 1e-3, 1.0, f_hz < 100.0 ? 1.25 : 0.1, db);
  return 1e3 * v / cos(DSP_PI * f_hz / r->rate_hz);
}

#endif // TESTS_TUBE_TUBE_RIG_H
