// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bus leveler as a whole: static curve, timing through the audio path,
/// distortion, image, make-up.

#include "tests/support/promises.h"

#include "common/stages/bus_leveler.h"

#define RATE_HZ 48000.0
#define N       (48000U * 4U)

static float left[N], right[N], out_left[N], out_right[N];

static rig
open_leveler(void)
{
  rig r = rig_open(&bus_leveler_ops, RATE_HZ, 2, NULL);
  rig_set(&r, "makeup", 1.0); // Manual, 0 dB
  rig_set(&r, "low_cut_hz", 20.0);
  return r;
}

static void
play(rig* r, uint32_t from, uint32_t to)
{
  const float* const in[]  = {left + from, right + from};
  float* const       out[] = {out_left + from, out_right + from};
  stage_process(&r->st, in, out, 2, to - from);
}

static double
reduction_db(const rig* r)
{
  bus_leveler_meters m;
  bus_leveler_meter((const bus_leveler*)r->st.state, &m);
  return (double)m.reduction_db;
}

static void
fill_sine(double f_hz, double peak)
{
  check_sine(left, N, f_hz, peak, RATE_HZ);
  memcpy(right, left, sizeof(left));
}

/// Level in dB re threshold against reduction for p = 2, from the closed form
/// (tests/dynamics/test_photocell.c)
static const double curve[][2] = {
  {-12, .066}, {-6, .248}, {-3, .465},  {0, .833},   {1, 1.0},    {3, 1.408},
  {6, 2.221},  {9, 3.268}, {12, 4.521}, {18, 7.496}, {24, 10.883}};
enum { CURVE_N = sizeof(curve) / sizeof(curve[0]) };

/// Holds a sine at each level until nothing moves (common practice)
static void
test_static_curve_up_and_down(void** state)
{
  double up[CURVE_N];
  (void)state;
  for (int hz = 0; hz < 2; ++hz) {
    rig r = open_leveler();
    rig_set(&r, "threshold_db", -30.0);
    for (int j = 0; j < 2 * CURVE_N; ++j) {
      const int i = j < CURVE_N ? j : 2 * CURVE_N - 1 - j;
      fill_sine(hz ? 1000.0 : 82.0, db_to_gain(-30.0 + curve[i][0]));
      play(&r, 0, N);
      play(&r, 0, N); // 8 s: the memory has settled, too
      const double gain_db = gain_to_db(
        check_tone(out_left + N - 48000, 48000, hz ? 1000.0 : 82.0, RATE_HZ) /
        check_tone(left + N - 48000, 48000, hz ? 1000.0 : 82.0, RATE_HZ));
      assert_near(-gain_db, curve[i][1], 0.05);
      if (j < CURVE_N) {
        up[i] = gain_db;
      } else {
        assert_near(gain_db, up[i], 0.02);
      }
    }
    rig_close(&r);
  }
}

static void
test_ratio_bends_towards_its_value(void** state)
{
  static const double ratios[] = {2.2, 3.0, 4.0};
  (void)state;
  for (int i = 0; i < 3; ++i) {
    rig r = open_leveler();
    rig_set(&r, "threshold_db", -50.0);
    rig_set(&r, "ratio", ratios[i]);
    double last_db = 0.0;
    for (int step = 0; step < 2; ++step) {
      fill_sine(1000.0, db_to_gain(step ? 0.0 : -6.0));
      play(&r, 0, N);
      const double out_db = check_rms_db(out_left + N - 48000, 48000);
      if (step) {
        // dx/dy = 1 + p n / (1 + n), just below the asymptote
        const double n     = db_to_gain(reduction_db(&r)) - 1.0;
        const double local = 1.0 + (ratios[i] - 1.0) * n / (1.0 + n);
        assert_near(6.0 / (out_db - last_db), local, 0.05 * local);
      }
      last_db = out_db;
    }
    rig_close(&r);
  }
}

/// Harmonics relative to the fundamental (IEC 60268-3, from memory): 80 Hz with
/// 4.52 dB of reduction
static void
test_distortion_of_a_low_note(void** state)
{
  (void)state;
  rig r = open_leveler();
  rig_set(&r, "threshold_db", -20.0);
  fill_sine(80.0, db_to_gain(-8.0));
  play(&r, 0, N);
  play(&r, 0, N);
  assert_near(reduction_db(&r), 4.52, 0.06);
  const float* const y     = out_left + N - 48000;
  const double       first = check_tone(y, 48000, 80.0, RATE_HZ);
  double             sum   = 0.0;
  for (int h = 2; h <= 10; ++h) {
    const double part = check_tone(y, 48000, 80.0 * h, RATE_HZ) / first;
    sum += part * part;
  }
  assert_true(100.0 * sqrt(sum) < 0.06);
  rig_close(&r);
}

/// Returns the milliseconds from the step to half the change of the reduction
static double
half_way_ms(rig* r, double from_db, double to_db)
{
  const double half = 0.5 * (from_db + to_db);
  for (uint32_t i = 0; i < N; i += 8) {
    play(r, i, i + 8);
    const double now = reduction_db(r);
    if (from_db < to_db ? now >= half : now <= half) {
      return (i + 4) * 1e3 / RATE_HZ;
    }
  }
  fail_msg("never reached %g dB", half);
  return 0.0;
}

static void
test_attack_through_the_audio_path(void** state)
{
  // Level for 3 and 6 dB at p = 2, T = -30; times computed from the closed form
  // of the cell with default rates, empty memory, and the detector's 5 ms
  static const double rows[][2] = {{3.0, 48.0 + 5.3}, {6.0, 25.0 + 5.0}};
  (void)state;
  for (int i = 0; i < 2; ++i) {
    rig          r = open_leveler();
    const double n = db_to_gain(rows[i][0]) - 1.0;
    // n = s (y / T)^2, x = y (1 + n)
    const double y = sqrt(n / (db_to_gain(1.0) - 1.0));
    rig_set(&r, "threshold_db", -30.0);
    fill_sine(1000.0, db_to_gain(-30.0) * y * (1.0 + n));
    assert_near(half_way_ms(&r, 0.0, rows[i][0]), rows[i][1], 3.0);
    rig_close(&r);
  }
}

static void
test_image_stands_still(void** state)
{
  uint32_t seed = 2;
  (void)state;
  rig r = open_leveler();
  for (uint32_t i = 0; i < N; ++i) {
    left[i]  = 0.5F * check_noise(&seed);
    right[i] = 0.05F * check_noise(&seed);
  }
  play(&r, 0, N);
  for (uint32_t i = 0; i < N; ++i) {
    // The same gain, to the rounding of the products
    const double a = (double)out_left[i] * (double)right[i];
    const double b = (double)out_right[i] * (double)left[i];
    assert_true(fabs(a - b) <= 4e-7 * fabs(a) + 1e-12);
  }
  rig_close(&r);
}

static void
test_detector_low_cut(void** state)
{
  double db[2];
  (void)state;
  for (int i = 0; i < 2; ++i) {
    rig r = open_leveler();
    rig_set(&r, "threshold_db", -40.0);
    rig_set(&r, "low_cut_hz", i ? 300.0 : 20.0);
    fill_sine(60.0, db_to_gain(-12.0));
    play(&r, 0, N);
    db[i] = reduction_db(&r);
    rig_close(&r);
  }
  // 60 Hz through a second-order Butterworth at 300 Hz: -28.0 dB, closed form;
  // from 28 dB above the threshold to 0 dB re threshold
  assert_near(db[0], 13.3, 0.4);
  assert_near(db[1], 0.83, 0.15);
}

static void
test_make_up_follows_the_settings_alone(void** state)
{
  (void)state;
  for (double threshold_db = -40.0; threshold_db <= -10.0;
       threshold_db += 10.0) {
    rig r = rig_open(&bus_leveler_ops, RATE_HZ, 2, NULL);
    rig_set(&r, "threshold_db", threshold_db);
    // A sine at the alignment level comes out as it went in
    fill_sine(1000.0, sqrt(2.0) * db_to_gain(ALIGN_RMS_DBFS));
    play(&r, 0, N);
    play(&r, 0, N);
    const double in_db = check_rms_db(left + N - 48000, 48000);
    assert_near(check_rms_db(out_left + N - 48000, 48000), in_db, 0.1);
    rig_close(&r);
  }
}

static void
test_blend_0_is_the_input(void** state)
{
  uint32_t seed = 2;
  (void)state;
  rig r = rig_open(&bus_leveler_ops, RATE_HZ, 2, NULL);
  rig_set(&r, "blend_pc", 0.0);
  for (uint32_t i = 0; i < N; ++i) {
    left[i] = right[i] = check_noise(&seed);
  }
  play(&r, 0, N);
  assert_memory_equal(out_left, left, sizeof(left));
  rig_close(&r);
}

static void
test_promises(void** state)
{
  (void)state;
  rig r = rig_open(&bus_leveler_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "threshold_db", -40.0);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  promise_no_click(&r);
  rig_close(&r);
  promise_finite(&bus_leveler_ops, 2);
  promise_finite_held(&bus_leveler_ops, 2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_static_curve_up_and_down),
    cmocka_unit_test(test_ratio_bends_towards_its_value),
    cmocka_unit_test(test_distortion_of_a_low_note),
    cmocka_unit_test(test_attack_through_the_audio_path),
    cmocka_unit_test(test_image_stands_still),
    cmocka_unit_test(test_detector_low_cut),
    cmocka_unit_test(test_make_up_follows_the_settings_alone),
    cmocka_unit_test(test_blend_0_is_the_input),
    cmocka_unit_test(test_promises),
  };
  return cmocka_run_group_tests_name("bus_leveler", tests, NULL, NULL);
}
