// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Takes with noise for the expander of DI clean-up.  Each is played twice,
/// with the expander on and off; what differs is its doing.  48 kHz.

#ifndef TESTS_STAGES_PAUSE_RIG_H
#define TESTS_STAGES_PAUSE_RIG_H

#include "tests/support/rig.h"

#include "common/stages/di_cleanup.h"

RIG_PARAMS(di_cleanup)

#define RATE_HZ  48000.0
#define ON       "pause_db=20"
#define NOISE_DB (-74.0) // 56 dB below playing at the alignment level
#define MS       48U

enum { MOST = 12 * 48000 };

static float take[MOST], off[MOST], on[MOST];

/// Plays the first `n` frames of `take` both ways
static inline void
play_both(const char* settings, uint32_t n)
{
  di_cleanup_params v = di_cleanup_with(settings);
  rig               g = rig_open(&di_cleanup_ops, RATE_HZ, 1, &v);
  rig_run(&g, take, on, n);
  rig_close(&g);
  v.pause_db = 0.0F;
  g          = rig_open(&di_cleanup_ops, RATE_HZ, 1, &v);
  rig_run(&g, take, off, n);
  rig_close(&g);
}

/// Gain of the expander over `n` frames, in dB
static inline double
gain_db(uint32_t at, uint32_t n)
{
  return check_rms_db(on + at, n) - check_rms_db(off + at, n);
}

/// Uniform noise with the RMS `db`
static inline void
add_noise(double db, uint32_t from, uint32_t to, uint32_t seed)
{
  const float peak = (float)(sqrt(3.0) * db_to_gain(db));
  for (uint32_t i = from; i < to; ++i) {
    take[i] += peak * check_noise(&seed);
  }
}

/// A string from `at` on: ten partials that fall with 1/k, as long as measured
/// on a direct electric guitar (T60 8 s below 250 Hz, 6 s to 1.2 kHz, 2 s to
/// 3 kHz, 1.2 s above), with -18 dBFS RMS at first
static inline void
add_note(double f_hz, uint32_t at, uint32_t n)
{
  double power = 0.0;
  for (int k = 1; k <= 10; ++k) {
    power += 0.5 / (k * k);
  }
  for (int k = 1; k <= 10; ++k) {
    const double f   = k * f_hz;
    const double t60 = f < 250 ? 8.0 : f < 1200 ? 6.0 : f < 3000 ? 2.0 : 1.2;
    const double amp = db_to_gain(ALIGN_RMS_DBFS) / sqrt(power) / k;
    for (uint32_t i = 0; i < n; ++i) {
      const double t = i / RATE_HZ;
      take[at + i] += (float)(amp * pow(10.0, -3.0 * t / t60) *
                              sin(2.0 * DSP_PI * f * t + k * k));
    }
  }
}

#endif // TESTS_STAGES_PAUSE_RIG_H
