// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Proximity lift: distance on a sine, the lift's static curve, its noise
/// budget and its speed, and the promises of every stage

#include "tests/support/promises.h"

#include "common/stages/proximity_lift.h"

#define RATE_HZ 48000.0
enum { N = 96000 };

static float in[N], out[N], plain[N];

/// An omni far away: the lift alone, but for the low end
static rig
lift_alone(void)
{
  rig r = rig_open(&proximity_lift_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "pattern", 0.0);
  rig_set(&r, "distance_cm", 100.0);
  return r;
}

/// Returns the lift alone, in dB, of the second half of `in`
static double
lift_db(rig* r, double lift)
{
  rig_set(r, "lift_db", lift);
  rig_run(r, in, out, N);
  rig_set(r, "lift_db", 0.0);
  rig_run(r, in, plain, N);
  return check_rms_db(out + N / 2, N / 2) - check_rms_db(plain + N / 2, N / 2);
}

/// RMS level; dB of 1 + k c e with k = 1 and k = 0.4125 (3 dB), T = -36,
/// F = -70, computed from the closed form to three decimals
static const struct {
  double level, lift_6, lift_3;
} curve[] = {
  {-100, 0.000, 0.000}, {-90, 0.001, 0.000}, {-80, 0.086, 0.035},
  {-76, 0.501, 0.210},  {-70, 3.521, 1.628}, {-64, 5.752, 2.844},
  {-60, 5.960, 2.965},  {-54, 5.950, 2.959}, {-48, 5.759, 2.848},
  {-42, 5.102, 2.475},  {-36, 3.522, 1.629}, {-30, 1.589, 0.691},
  {-24, 0.501, 0.210},  {-18, 0.134, 0.056}, {-12, 0.034, 0.014},
  {-6, 0.009, 0.004},   {0, 0.002, 0.001},
};
enum { N_CURVE = sizeof(curve) / sizeof(curve[0]) };

#define DB_OF_K_04125 2.99999 // 20 log10(1.4125)
#define DB_OF_K_1     6.02060

static void
test_law(void** state)
{
  (void)state;

  const float t2 = (float)db_to_gain(2.0 * -36.0);
  const float f4 = (float)db_to_gain(4.0 * -70.0);
  for (uint32_t i = 0; i < N_CURVE; ++i) {
    const float  power = (float)db_to_gain(2.0 * curve[i].level);
    const double share = (double)detail_lift_share(power, power, t2, f4);
    assert_near(gain_to_db(1.0 + share), curve[i].lift_6, 0.0006);
    assert_near(gain_to_db(1.0 + 0.4125 * share), curve[i].lift_3, 0.0006);
  }
}

static void
test_curve(void** state)
{
  (void)state;

  static const double tones_hz[] = {440.0, 1000.0};
  rig                 r          = lift_alone();
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < N_CURVE; ++i) {
      const double peak = sqrt(2.0) * db_to_gain(curve[i].level);
      check_sine(in, N, tones_hz[k], peak, RATE_HZ);
      assert_near(lift_db(&r, DB_OF_K_1), curve[i].lift_6, 0.02);
      assert_near(lift_db(&r, DB_OF_K_04125), curve[i].lift_3, 0.02);
    }
  }
  rig_close(&r);
}

static const double lifts_db[] = {3, 4, 6, 12};

/// No lift raises `in`, at `level` dBFS RMS, by more
static void
assert_rises_less(double level, double most_db)
{
  const double gain = db_to_gain(level - check_rms_db(in, N));
  for (uint32_t i = 0; i < N; ++i) {
    in[i] *= (float)gain;
  }
  rig r = lift_alone();
  for (uint32_t i = 0; i < 4; ++i) {
    const double rise = lift_db(&r, lifts_db[i]);
    assert_true(rise > -1e-4);
    assert_near(rise, 0.0, most_db);
  }
  rig_close(&r);
}

static void
test_noise_below_the_floor(void** state)
{
  (void)state;

  // Noise that is flat up to 5 kHz, as after a pickup: one-poles in series
  uint32_t seed = 3;
  float    a    = 0.0F;
  float    b    = 0.0F;
  for (uint32_t i = 0; i < N; ++i) {
    a += 0.6F * (check_noise(&seed) - a);
    b += 0.6F * (a - b);
    in[i] = b;
  }
  assert_rises_less(-82.0, 0.05); // 12 dB below the floor
  assert_rises_less(-90.0, 0.003);

  for (uint32_t i = 0; i < N; ++i) {
    in[i] = check_noise(&seed);
  }
  assert_rises_less(-82.0, 0.05);
}

static void
test_hum_below_the_floor(void** state)
{
  (void)state;

  // Pure, and with the first harmonics of an unshielded coil at falling level
  static const double amplitude[8] = {1, 0.5, 0.6, 0.3, 0.4, 0.2, 0.3, 0.1};
  for (uint32_t k = 0; k < 2; ++k) {
    const double f = k ? 60.0 : 50.0;
    check_sine(in, N, f, 1.0, RATE_HZ);
    assert_rises_less(-82.0, 0.001);
    // Hum is often louder than the hiss: at the floor itself
    check_sine(in, N, f, 1.0, RATE_HZ);
    assert_rises_less(-70.0, 0.05);

    for (uint32_t i = 0; i < N; ++i) {
      double sum = 0.0;
      for (uint32_t h = 0; h < 8; ++h) {
        sum += amplitude[h] * sin(2.0 * DSP_PI * f * (h + 1) * i / RATE_HZ + h);
      }
      in[i] = (float)sum;
    }
    assert_rises_less(-82.0, 0.05);

    // Buzz: 40 equal harmonics, all in phase, a peak in every period
    for (uint32_t i = 0; i < N; ++i) {
      double sum = 0.0;
      for (uint32_t h = 1; h <= 40; ++h) {
        sum += cos(2.0 * DSP_PI * f * h * i / RATE_HZ);
      }
      in[i] = (float)sum;
    }
    assert_rises_less(-82.0, 0.05);
  }
}

/// Returns the lift of a 440 Hz sine `ms` after a step from -60 to -6 dBFS RMS
static double
lift_left_db(rig* r, double ms)
{
  const uint32_t at = N / 2 + (uint32_t)(ms * 1e-3 * RATE_HZ);
  rig_run(r, in, out, at);
  proximity_lift_meters m;
  r->st.ops->meter(r->st.state, (float*)&m);
  return (double)m.lift_now_db;
}

static void
test_removed_fast(void** state)
{
  (void)state;

  // Every pick would start hot otherwise.  Our own limits: a seventh of the
  // lift after 5 ms, nothing audible after 10 ms.
  check_sine(in, N, 440.0, sqrt(2.0), RATE_HZ);
  for (uint32_t i = 0; i < N; ++i) {
    in[i] *= (float)db_to_gain(i < N / 2 ? -60.0 : -6.0);
  }
  static const struct {
    double lift, at_5, at_10;
  } limits[] = {{DB_OF_K_04125, 0.4, 0.1}, {DB_OF_K_1, 0.8, 0.1}};
  rig r      = lift_alone();
  for (uint32_t i = 0; i < 2; ++i) {
    rig_set(&r, "lift_db", limits[i].lift);
    assert_near(lift_left_db(&r, 0.0), limits[i].lift, 0.1);
    rig_set(&r, "lift_db", limits[i].lift);
    assert_in_range((int)(1e3 * lift_left_db(&r, 5.0)), 0,
                    (int)(1e3 * limits[i].at_5));
    rig_set(&r, "lift_db", limits[i].lift);
    assert_in_range((int)(1e3 * lift_left_db(&r, 10.0)), 0,
                    (int)(1e3 * limits[i].at_10));
  }
  rig_close(&r);
}

static void
test_playing_keeps_its_loudness(void** state)
{
  (void)state;

  // A sine where playing at -18 dBFS RMS has its energy, -16.5 dBFS: within
  // 0.5 dB at any lift and any threshold
  check_sine(in, N, 330.0, sqrt(2.0) * db_to_gain(-16.5), RATE_HZ);
  rig r = lift_alone();
  for (int below = -60; below <= -12; below += 4) {
    rig_set(&r, "lift_below_db", below);
    for (int lift = 0; lift <= 12; lift += 3) {
      assert_near(lift_db(&r, lift), 0.0, 0.5);
    }
  }
  rig_close(&r);
}

static void
test_distance(void** state)
{
  (void)state;

  // Piston of 13 cm, cardioid at 5 cm (the defaults), low end 20 Hz: closed
  // form as in test_mic_near_field.c
  static const double f_hz[] = {50, 100, 200, 400, 1000};
  static const double want[] = {11.49, 6.68, 2.88, 0.92, 0.16};
  rig                 r      = rig_open(&proximity_lift_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "lift_db", 0.0);
  for (uint32_t i = 0; i < 5; ++i) {
    check_sine(in, N, f_hz[i], 0.1, RATE_HZ);
    rig_run(&r, in, out, N);
    stage_reset(&r.st);
    const double gain = check_tone(out + N / 2, N / 2, f_hz[i], RATE_HZ) / 0.1;
    assert_near(gain_to_db(gain), want[i], 0.05);
  }
  rig_close(&r);
}

/// Largest step between two frames of `out`
static double
largest_step(void)
{
  double most = 0.0;
  for (uint32_t i = 1; i < N; ++i) {
    most = fmax(most, fabs((double)out[i] - (double)out[i - 1]));
  }
  return most;
}

static void
test_moving_microphone(void** state)
{
  (void)state;

  check_sine(in, N, 100.0, 0.1, RATE_HZ);
  rig r = rig_open(&proximity_lift_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "lift_db", 0.0);
  double still = 0.0;
  for (int cm = 1; cm <= 100; cm *= 10) {
    rig_set(&r, "distance_cm", cm);
    rig_run(&r, in, out, N);
    still = fmax(still, largest_step());
  }

  // From 1 to 100 cm in 50 ms, in host blocks of 1 ms
  rig_set(&r, "distance_cm", 1.0);
  for (uint32_t i = 0; i < N; i += 48) {
    const double way              = clampd((i - 48000.0) / 2400.0, 0.0, 1.0);
    *rig_value(&r, "distance_cm") = (float)pow(100.0, way);
    stage_set(&r.st, r.values);
    rig_run(&r, in + i, out + i, 48);
  }
  assert_true(largest_step() < 2.0 * still);
  rig_close(&r);
}

static void
test_promises(void** state)
{
  (void)state;

  rig r = rig_open(&proximity_lift_ops, RATE_HZ, 1, NULL);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  promise_finite(&proximity_lift_ops, 2);
  promise_finite_held(&proximity_lift_ops, 2);
  assert_int_equal(r.st.ops->latency_frames(r.st.state), 0);
  rig_close(&r);
}

static void
test_no_click(void** state)
{
  (void)state;

  rig r = rig_open(&proximity_lift_ops, RATE_HZ, 1, NULL);
  promise_no_click(&r);

  // At full lift, and at most bass
  *rig_value(&r, "lift_db")       = 12.0F;
  *rig_value(&r, "lift_below_db") = -12.0F;
  promise_no_click(&r);
  *rig_value(&r, "distance_cm") = 1.0F;
  *rig_value(&r, "source_cm")   = 0.0F;
  *rig_value(&r, "pattern")     = 5.0F;
  promise_no_click(&r);
  rig_close(&r);
}

static void
test_linked(void** state)
{
  (void)state;

  // A quiet left channel beside a loud right one gets the gain of the right:
  // none
  rig r = rig_open(&proximity_lift_ops, RATE_HZ, 2, NULL);
  rig_set(&r, "pattern", 0.0);
  check_sine(in, N, 1000.0, 1e-3, RATE_HZ);
  check_sine(plain, N, 440.0, 0.5, RATE_HZ);
  const float* const ins[]  = {in, plain};
  float* const       outs[] = {out, plain};
  stage_process(&r.st, ins, outs, 2, N);
  assert_near(check_rms_db(out + N / 2, N / 2), check_rms_db(in, N), 0.02);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_law),
    cmocka_unit_test(test_curve),
    cmocka_unit_test(test_noise_below_the_floor),
    cmocka_unit_test(test_hum_below_the_floor),
    cmocka_unit_test(test_removed_fast),
    cmocka_unit_test(test_playing_keeps_its_loudness),
    cmocka_unit_test(test_distance),
    cmocka_unit_test(test_moving_microphone),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_no_click),
    cmocka_unit_test(test_linked),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
