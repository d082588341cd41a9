// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// DI clean-up: every control against its analog prototype, hum, and the meter

#include "tests/support/check.h"
#include "tests/support/click.h"
#include "tests/support/promises.h"

#include "common/stages/di_cleanup.h"

RIG_PARAMS(di_cleanup)

// Gain alone: the low cut at its lowest, both bells at 0 dB
#define FLAT "low_cut_hz=20 low_cut_slope=0 body_db=0 presence_db=0"

/// The cookbook's bell, its Q from the width between half-gain points
static double
bell_db(double f_hz, double f0_hz, double gain_db, double oct)
{
  const double a  = pow(10.0, gain_db / 40.0);
  const double iq = 2.0 * sinh(0.5 * log(2.0) * oct);
  const double x  = f_hz / f0_hz;
  const double re = (1.0 - x * x) * (1.0 - x * x);
  return 10.0 * log10((re + x * x * iq * iq * a * a) /
                      (re + x * x * iq * iq / (a * a)));
}

/// Butterworth: 1 / (1 + (fc/f)^2n)
static double
analog_db(const di_cleanup_params* v, double f_hz)
{
  const double n = 2.0 + (double)v->low_cut_slope;
  return (double)v->gain_db -
         10.0 * log10(1.0 + pow((double)v->low_cut_hz / f_hz, 2.0 * n)) +
         bell_db(f_hz, (double)v->body_hz, (double)v->body_db,
                 (double)v->body_oct) +
         bell_db(f_hz, (double)v->presence_hz, (double)v->presence_db,
                 (double)v->presence_oct);
}

/// From 20 Hz to 20 kHz.  The error of matched bells at 20 kHz grows with their
/// width, gain and centre and falls with the rate.
static void
test_curves(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000};
  static const struct {
    const char* set;
    double      tolerance_db[4]; // At each rate
  } rows[] = {
    {"", {0.05, 0.04, 0.01, 0.01}},
    {"gain_db=12 low_cut_hz=20 low_cut_slope=0 body_hz=80 body_db=6 "
     "body_oct=0.2 presence_hz=1000 presence_db=6 presence_oct=0.2",
     {0.03, 0.03, 0.01, 0.01}},
    {"gain_db=-24 low_cut_hz=400 low_cut_slope=1 body_hz=800 body_db=-12 "
     "body_oct=3 presence_hz=1000 presence_db=6 presence_oct=3",
     {0.30, 0.20, 0.03, 0.01}},
    {"gain_db=24 low_cut_hz=400 body_hz=80 body_db=-12 body_oct=3 "
     "presence_hz=8000 presence_db=6 presence_oct=1.9",
     {0.60, 0.40, 0.05, 0.01}},
    {"low_cut_hz=55 presence_hz=8000 presence_db=-12 presence_oct=1.9",
     {1.00, 0.65, 0.10, 0.02}},
    {"low_cut_slope=1 body_hz=400 body_db=3 body_oct=0.7 presence_hz=5000 "
     "presence_db=-4 presence_oct=0.5",
     {0.05, 0.05, 0.01, 0.01}},
  };
  for (int r = 0; r < 4; ++r) {
    const uint32_t n = (uint32_t)(0.7 * rates_hz[r]);
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
      const di_cleanup_params v = di_cleanup_with(rows[i].set);
      rig                     g = rig_open(&di_cleanup_ops, rates_hz[r], 1, &v);
      for (int j = 0; j <= 40; ++j) {
        const double f    = 20.0 * pow(1000.0, j / 40.0);
        const double want = analog_db(&v, f);
        const double got  = rig_response_db(&g, f, rates_hz[r], n);
        assert_near(got, want, rows[i].tolerance_db[r]);
      }
      rig_close(&g);
    }
  }
}

/// Nothing at DC, and at Nyquist no more than the error of a matched bell
static void
test_extremes(void** state)
{
  (void)state;
  rig g = rig_open(&di_cleanup_ops, 48000, 1, NULL);
  assert_below(rig_response_db(&g, 0.0, 48000, 48000), -120.0);
  assert_near(rig_response_db(&g, 24000.0, 48000, 48000), 0.0, 0.1);
  rig_close(&g);
}

/// Low cut 20 Hz, bells at 0 dB: gain alone is left
static void
test_gain(void** state)
{
  (void)state;
  for (int db = -24; db <= 24; db += 6) {
    di_cleanup_params v = di_cleanup_with(FLAT);
    v.gain_db           = (float)db;
    rig g               = rig_open(&di_cleanup_ops, 48000, 1, &v);
    assert_near(rig_response_db(&g, 2000.0, 48000, 48000), db, 1e-4);
    rig_close(&g);
  }
}

/// Returns the level of a sine after the stage, in dB re its level before, over
/// the last second of three
static double
settled_gain_db(const di_cleanup_params* v, double f_hz, double rate_hz)
{
  const uint32_t n = (uint32_t)(3.0 * rate_hz);
  const uint32_t m = n / 3;
  float*         x = malloc(n * sizeof(float));
  assert_non_null(x);
  check_sine(x, n, f_hz, 0.1, rate_hz);
  rig g = rig_open(&di_cleanup_ops, rate_hz, 1, v);
  rig_run(&g, x, x, n);
  const double got = check_rms_db(x + n - m, m);
  rig_close(&g);
  free(x);
  return got + 20.0 + 10.0 * log10(2.0);
}

/// Through the whole stage: 30 dB less at mains of 49.9, 50 and 50.1 Hz, eight
/// harmonics each, in addition to the other filters; 3 Hz beside them less than
/// 1.5 dB above 200 Hz
static void
test_hum_table(void** state)
{
  (void)state;
  di_cleanup_params v = di_cleanup_with(FLAT);
  for (int hum = 1; hum <= 2; ++hum) {
    v.hum = (float)hum;
    for (int k = 1; k <= 8; ++k) {
      const double f0   = k * (40.0 + 10.0 * hum);
      const double want = -10.0 * log10(1.0 + pow(20.0 / f0, 4.0));
      for (int i = -1; i <= 1; ++i) {
        assert_below(settled_gain_db(&v, f0 + 0.1 * k * i, 48000), -30.0);
      }
      if (f0 > 200.0) {
        assert_near(settled_gain_db(&v, f0 + 3.0, 48000), want, 1.5);
        assert_near(settled_gain_db(&v, f0 - 3.0, 48000), want, 1.5);
      }
    }
    assert_near(settled_gain_db(&v, 1000.0, 48000), 0.0, 0.001);
  }
}

/// Turned on while it plays, from one mains to the other, and off
static void
test_hum_switches(void** state)
{
  (void)state;
  const uint32_t    n = 96000;
  di_cleanup_params v = di_cleanup_with("low_cut_hz=20");
  float*            x = malloc(n * sizeof(float));
  assert_non_null(x);
  rig g = rig_open(&di_cleanup_ops, 48000, 1, &v);
  static const struct {
    float hum;
    bool  is_gone_50, is_gone_60;
  } turns[] = {{0, false, false},
               {1, true, false},
               {2, false, true},
               {1, true, false},
               {0, false, false}};
  for (size_t i = 0; i < sizeof(turns) / sizeof(turns[0]); ++i) {
    v.hum = turns[i].hum;
    rig_move(&g, &v);
    for (uint32_t j = 0; j < n; ++j) {
      x[j] = (float)(0.1 * sin(2.0 * DSP_PI * 100.0 * j / 48000.0) +
                     0.1 * sin(2.0 * DSP_PI * 120.0 * j / 48000.0));
    }
    rig_run(&g, x, x, n);
    const double at_50 = check_tone(x + n / 2, n / 2, 100.0, 48000);
    const double at_60 = check_tone(x + n / 2, n / 2, 120.0, 48000);
    assert_true((at_50 < 0.1 / 31.6) == turns[i].is_gone_50);
    assert_true((at_60 < 0.1 / 31.6) == turns[i].is_gone_60);
    assert_true(turns[i].is_gone_50 || at_50 > 0.08);
    assert_true(turns[i].is_gone_60 || at_60 > 0.08);
  }
  rig_close(&g);
  free(x);
}

static float
align_of(rig* g)
{
  di_cleanup_meters m;
  g->st.ops->meter(g->st.state, (float*)(void*)&m);
  return m.align_db;
}

static void
play_s(rig* g, double seconds, double f_hz, double rms_dbfs, double rate_hz)
{
  const uint32_t n = (uint32_t)(seconds * rate_hz);
  float*         x = malloc(n * sizeof(float));
  float*         y = malloc(n * sizeof(float));
  assert_non_null(x);
  assert_non_null(y);
  check_sine(x, n, f_hz, sqrt(2.0) * db_to_gain(rms_dbfs), rate_hz);
  memcpy(y, x, n * sizeof(float));
  const float* in[]  = {x, y};
  float*       out[] = {x, y};
  stage_process(&g->st, in, out, g->n_channels, n);
  free(x);
  free(y);
}

/// Playing at a known level with known pauses: the gain does not count, the
/// filters do, both forms agree, a reset forgets
static void
test_align_meter(void** state)
{
  (void)state;
  static const double     rates_hz[] = {8000, 44100, 192000};
  const di_cleanup_params v          = di_cleanup_with(FLAT " gain_db=9");
  for (int r = 0; r < 3; ++r) {
    for (uint32_t n_channels = 1; n_channels <= 2; ++n_channels) {
      rig g = rig_open(&di_cleanup_ops, rates_hz[r], n_channels, &v);
      assert_true(align_of(&g) == 0.0F);
      play_s(&g, 20.0, 1000.0, -31.0, rates_hz[r]);
      assert_near((double)align_of(&g), 13.0, 0.01);
      play_s(&g, 20.0, 1000.0, -75.0, rates_hz[r]); // Below the absolute gate
      play_s(&g, 5.0, 1000.0, -50.0, rates_hz[r]);  // Below the relative gate
      assert_near((double)align_of(&g), 13.0, 0.06);
      stage_reset(&g.st);
      assert_true(align_of(&g) == 0.0F);
      play_s(&g, 2.0, 1000.0, -50.0, rates_hz[r]);
      assert_near((double)align_of(&g), 24.0, 1e-6); // Clamped
      stage_reset(&g.st);
      play_s(&g, 2.0, 1000.0, 10.0, rates_hz[r]);
      assert_near((double)align_of(&g), -24.0, 1e-6);
      rig_close(&g);
    }
  }

  // Rumble that the low cut removes: 20 Hz at 70 Hz, 4th order, -43.53 dB
  rig g = rig_open(&di_cleanup_ops, 48000, 1, NULL);
  play_s(&g, 20.0, 20.0, 6.0, 48000);
  assert_near((double)align_of(&g), -18.0 - (6.0 - 43.53), 0.1);
  rig_close(&g);
}

/// Following the meter brings the playing to the alignment level
static void
test_align_is_right(void** state)
{
  (void)state;
  di_cleanup_params v = di_cleanup_with(NULL);
  rig               g = rig_open(&di_cleanup_ops, 48000, 1, &v);
  play_s(&g, 5.0, 220.0, -29.0, 48000);
  v.gain_db            = align_of(&g);
  const double want_db = ALIGN_RMS_DBFS;
  const double got_db  = -29.0 + settled_gain_db(&v, 220.0, 48000);
  assert_near(got_db, want_db, 0.02);
  rig_close(&g);
}

static void
test_no_control_clicks(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 192000};
  for (int r = 0; r < 3; ++r) {
    for (uint32_t i = 0; i < di_cleanup_n_params; ++i) {
      const param_info* p = &di_cleanup_param_info[i];
      assert_below(
        click_of_control_db(&di_cleanup_ops, rates_hz[r], i, p->min, p->max),
        CLICK_LIMIT_DB);
    }
  }
}

/// From one slope and mains to another, and all controls at once, where the
/// corner is above the tone
static void
test_choices_do_not_click(void** state)
{
  (void)state;
  const di_cleanup_params a =
    di_cleanup_with("low_cut_hz=400 low_cut_slope=0 body_db=6 body_oct=0.2 "
                    "presence_hz=1000 presence_db=6 presence_oct=3 hum=1");
  for (int slope = 1; slope <= 2; ++slope) {
    di_cleanup_params b = a;
    b.low_cut_slope     = (float)slope;
    assert_below(click_of_jump(&di_cleanup_ops, 48000, &a, &b).jump_db,
                 CLICK_LIMIT_DB);
    assert_below(click_of_jump(&di_cleanup_ops, 48000, &b, &a).jump_db,
                 CLICK_LIMIT_DB);
    b.hum = 2;
    assert_below(click_of_jump(&di_cleanup_ops, 48000, &a, &b).jump_db,
                 CLICK_LIMIT_DB);
  }
  const di_cleanup_params c = di_cleanup_with(
    "gain_db=24 low_cut_hz=20 body_hz=80 body_db=-12 body_oct=3 "
    "presence_hz=8000 presence_db=-12 presence_oct=0.2 hum=2");
  assert_below(click_of_jump(&di_cleanup_ops, 48000, &a, &c).jump_db,
               CLICK_LIMIT_DB);
  assert_below(click_of_jump(&di_cleanup_ops, 48000, &c, &a).jump_db,
               CLICK_LIMIT_DB);
}

static void
test_promises(void** state)
{
  (void)state;
  const di_cleanup_params a = di_cleanup_with(
    "gain_db=6 low_cut_hz=120 low_cut_slope=0 body_hz=300 body_db=6 "
    "body_oct=0.2 presence_hz=2000 presence_db=-12 presence_oct=3 hum=1");
  const di_cleanup_params b = di_cleanup_with(
    "gain_db=-12 low_cut_hz=30 low_cut_slope=1 body_hz=120 body_db=-6 "
    "body_oct=2 presence_hz=7000 presence_db=6 presence_oct=0.3 hum=2");
  promise_both_forms(&di_cleanup_ops, NULL, &a);
  promise_both_forms(&di_cleanup_ops, &a, &b);
  promise_finite(&di_cleanup_ops, 2);
  promise_finite_held(&di_cleanup_ops, 2);
  rig g = rig_open(&di_cleanup_ops, 48000, 1, NULL);
  assert_int_equal(g.st.ops->latency_frames(g.st.state), 0);
  rig_close(&g);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_curves),
    cmocka_unit_test(test_extremes),
    cmocka_unit_test(test_gain),
    cmocka_unit_test(test_hum_table),
    cmocka_unit_test(test_hum_switches),
    cmocka_unit_test(test_align_meter),
    cmocka_unit_test(test_align_is_right),
    cmocka_unit_test(test_no_control_clicks),
    cmocka_unit_test(test_choices_do_not_click),
    cmocka_unit_test(test_promises),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
