// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The renderer's level meter against the gate of Recommendation ITU-R
/// BS.1770-5, annex 1: blocks of 400 ms that overlap by 75 %, an absolute gate
/// and then one 10 dB below the mean of the blocks that pass it.  (The absolute
/// one at -70 dBFS: there is no frequency weighting.)

#include "tests/support/check.h"

#include "presets-demo/render/audio/level_meter.h"

#define RATE_HZ 48000.0
#define HALF_S  60U
#define N       (2U * HALF_S * 48000U)

static float x[N];

/// Returns the level of a square wave at 0 dBFS, then one at `soft_db`, of the
/// same length
static double
level_db(double soft_db, double gain_db)
{
  level_meter        m;
  const float* const in[] = {x};
  for (uint32_t i = 0; i < N; ++i) {
    const double size = db_to_gain(gain_db + (i < N / 2 ? 0.0 : soft_db));
    x[i]              = (float)(i % 96 < 48 ? size : -size);
  }
  level_meter_init(&m, RATE_HZ);
  assert_true(level_meter_add(&m, in, 1, N));
  const double db = level_meter_gated_db(&m);
  level_meter_clear(&m);
  return db;
}

// The gate lies 10 dB below the mean of both halves, (1 + p) / 2; a half of
// power p is just on it if p = (1 + p) / 20, at -12.79 dB.  Three windows in
// 1194 hold some of both.
#define ON_THE_GATE_DB (-12.7875)

static void
test_relative_gate(void** state)
{
  (void)state;
  const double in_db  = ON_THE_GATE_DB + 0.1;
  const double out_db = ON_THE_GATE_DB - 0.1;
  const double power  = db_to_gain(2.0 * in_db);
  assert_near(level_db(in_db, 0.0), 10.0 * log10(0.5 * (1.0 + power)), 0.01);
  assert_near(level_db(out_db, 0.0), 0.0, 0.02);
}

static void
test_absolute_gate(void** state)
{
  (void)state;
  // So soft that the relative gate plays no part: both halves within 10 dB, one
  // of them 0.1 dB from -70 dBFS
  for (int above = 0; above < 2; ++above) {
    const double soft_db = above ? -69.9 : -70.1;
    const double power   = db_to_gain(2.0 * (soft_db + 65.0));
    const double want_db =
      above ? 10.0 * log10(0.5 * (1.0 + power)) - 65.0 : -65.0;
    assert_near(level_db(soft_db + 65.0, -65.0), want_db, 0.02);
  }
}

static void
test_windows(void** state)
{
  (void)state;
  // A burst of 300 ms is in six windows of 400 ms at steps of 100 ms: three
  // with all of it, one each with 200 and 100 ms on both sides ...
  static const float silence[48000];
  level_meter        m;
  const float* const quiet[] = {silence};
  const float* const in[]    = {x};
  for (uint32_t i = 0; i < 14400; ++i) {
    x[i] = i % 96 < 48 ? 1.0F : -1.0F;
  }
  level_meter_init(&m, RATE_HZ);
  level_meter_add(&m, quiet, 1, 48000);
  level_meter_add(&m, in, 1, 14400);
  level_meter_add(&m, quiet, 1, 48000);
  // ... in quarters 1, 2, 3, 3, 2, 1 of the burst's power, all within 10 dB
  assert_near(level_meter_gated_db(&m), 10.0 * log10(12.0 / 4.0 / 6.0), 1e-6);
  assert_near(level_meter_peak_db(&m), 0.0, 1e-9);
  level_meter_clear(&m);
}

static void
test_channels_and_short_takes(void** state)
{
  (void)state;
  // Mean over all channels; under 400 ms, all of the signal
  static float       left[9600], right[9600];
  const float* const in[] = {left, right};
  level_meter        m;
  for (uint32_t i = 0; i < 9600; ++i) {
    left[i]  = 0.5F;
    right[i] = 0.25F;
  }
  level_meter_init(&m, RATE_HZ);
  level_meter_add(&m, in, 2, 9600);
  assert_near(level_meter_gated_db(&m), 10.0 * log10(0.5 * (0.25 + 0.0625)),
              1e-6);
  assert_near(level_meter_peak_db(&m), 20.0 * log10(0.5), 1e-6);
  level_meter_clear(&m);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_relative_gate),
    cmocka_unit_test(test_absolute_gate),
    cmocka_unit_test(test_windows),
    cmocka_unit_test(test_channels_and_short_takes),
  };
  return cmocka_run_group_tests_name("level_meter", tests, NULL, NULL);
}
