// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Air shelf: its curves against the analog prototypes, and the effect of
/// `gentle_pc`

#include "tests/support/check.h"
#include "tests/support/click.h"
#include "tests/support/promises.h"

#include "common/stages/air_shelf.h"

RIG_PARAMS(air_shelf)

/// |H|^2 = (1 + G x^2) / (1 + x^2 / G), and the same of fourth order: (1 + G
/// x^8) / (1 + x^8 / G), whose pole and zero pairs lie on circles as those of a
/// Butterworth filter (any filter handbook)
static double
analog_db(const air_shelf_params* v, double f_hz)
{
  const double gp = pow(10.0, (double)v->presence_db / 20.0);
  const double ga = pow(10.0, (double)v->air_db / 20.0);
  const double x2 = pow(f_hz / (double)v->presence_hz, 2.0);
  const double x8 = pow(f_hz / (double)v->air_hz, 8.0);
  return 10.0 * log10((1.0 + gp * x2) / (1.0 + x2 / gp)) +
         10.0 * log10((1.0 + ga * x8) / (1.0 + x8 / ga));
}

/// The matched presence of up to 9 dB may be 0.13 dB off at 18 kHz, the matched
/// air 0.12 dB at 20 kHz (see test_eq.c, test_eq_pole_zero.c)
static void
test_curves(void** state)
{
  (void)state;
  static const double      rates_hz[] = {44100, 48000, 96000, 192000};
  static const char* const sets[]     = {
        "presence_hz=3000 presence_db=1.5 air_hz=9000 air_db=6",
        "presence_hz=1500 presence_db=9 air_hz=6000 air_db=12",
        "presence_hz=1500 presence_db=-6 air_hz=6000 air_db=-6",
        "presence_hz=6000 presence_db=9 air_hz=16000 air_db=12",
        "presence_hz=6000 presence_db=0 air_hz=16000 air_db=12",
        "presence_hz=6000 presence_db=-6 air_hz=16000 air_db=-6",
        "presence_hz=3000 presence_db=6 air_hz=11000 air_db=0",
  };
  for (int r = 0; r < 4; ++r) {
    for (size_t i = 0; i < sizeof(sets) / sizeof(sets[0]); ++i) {
      const air_shelf_params v = air_shelf_with(sets[i]);
      rig                    g = rig_open(&air_shelf_ops, rates_hz[r], 1, &v);
      double                 worst = 0.0;
      for (int j = 0; j <= 60; ++j) {
        const double f   = 20.0 * pow(1000.0, j / 60.0);
        const double got = rig_response_db(&g, f, rates_hz[r], 8192);
        const double off = fabs(got - analog_db(&v, f));
        assert_near(off, 0.0, 0.20);
        worst = fmax(worst, off);
      }
      assert_near(worst, 0.0, r < 2 ? 0.20 : r < 3 ? 0.06 : 0.02);
      assert_near(rig_response_db(&g, 0.0, rates_hz[r], 8192), 0.0, 1e-4);
      rig_close(&g);
    }
  }
}

/// Up to Nyquist, where nothing of the air is matched any more, it stays as far
/// up as the prototype
static void
test_nyquist(void** state)
{
  (void)state;
  const air_shelf_params v =
    air_shelf_with("presence_hz=3000 presence_db=0 air_hz=11000 air_db=9");
  rig g = rig_open(&air_shelf_ops, 48000, 1, &v);
  assert_near(rig_response_db(&g, 24000, 48000, 4096), analog_db(&v, 24000),
              0.1);
  rig_close(&g);
}

/// Why it is of fourth order: 6 dB at 9 kHz lift 10 and 12.5 kHz by 4.2 and 5.6
/// dB, and the 6.3 kHz that mask them by 0.35; of second order it would be 3.6,
/// 4.7 and 1.2 (closed forms of both)
static void
test_air_leaves_what_masks_it(void** state)
{
  (void)state;
  static const double want[][2] = {
    {4500, 0.03}, {6300, 0.35}, {10000, 4.16}, {12500, 5.57}};
  const air_shelf_params v =
    air_shelf_with("presence_hz=3000 presence_db=0 air_hz=9000 air_db=6");
  rig g = rig_open(&air_shelf_ops, 48000, 1, &v);
  for (int i = 0; i < 4; ++i) {
    const double db = rig_response_db(&g, want[i][0], 48000, 8192);
    assert_near(db, want[i][1], 0.05);
  }
  rig_close(&g);
}

static void
test_flat_is_bit_exact(void** state)
{
  (void)state;
  const air_shelf_params v =
    air_shelf_with("presence_hz=3000 presence_db=0 air_hz=11000 air_db=0");
  static float dry[2][PROMISE_FRAMES], x[2][PROMISE_FRAMES];
  promise_bursts(dry[0], PROMISE_FRAMES, 11);
  promise_bursts(dry[1], PROMISE_FRAMES, 12);
  rig g = rig_open(&air_shelf_ops, 48000, 2, &v);
  promise_run(&g, dry, x, NULL, 64);
  assert_memory_equal(x, dry, sizeof(x));
  rig_close(&g);
}

/// At `gentle_pc` 0 a level is only a factor: 2^-12 to 2^9 give the same bits
static void
test_exactly_linear_without_gentle(void** state)
{
  (void)state;
  static float     in[2][PROMISE_FRAMES], x[2][PROMISE_FRAMES];
  static float     y[2][PROMISE_FRAMES];
  static const int shifts[] = {-12, 9};
  promise_bursts(in[0], PROMISE_FRAMES, 11);
  promise_bursts(in[1], PROMISE_FRAMES, 12);
  rig g = rig_open(&air_shelf_ops, 48000, 2, NULL);
  promise_run(&g, in, x, NULL, 64);
  for (int i = 0; i < 2; ++i) {
    for (uint32_t j = 0; j < PROMISE_FRAMES; ++j) {
      y[0][j] = ldexpf(in[0][j], shifts[i]);
      y[1][j] = ldexpf(in[1][j], shifts[i]);
    }
    promise_run(&g, y, y, NULL, 64);
    for (uint32_t j = 0; j < PROMISE_FRAMES; ++j) {
      assert_true(y[0][j] == ldexpf(x[0][j], shifts[i]));
      assert_true(y[1][j] == ldexpf(x[1][j], shifts[i]));
    }
  }
  rig_close(&g);
}

/// Returns the settled gain in dB for a sine of `rms_dbfs`, with `other` added
/// to the input
static double
settled_gain_db(const air_shelf_params* v,
                double                  f_hz,
                double                  rms_dbfs,
                const float*            other)
{
  const uint32_t n = 96000; // 2 s; the second half holds whole periods
  float*         x = malloc(n * sizeof(float));
  assert_non_null(x);
  const double peak = sqrt(2.0) * db_to_gain(rms_dbfs);
  check_sine(x, n, f_hz, peak, 48000);
  for (uint32_t i = 0; other && i < n; ++i) {
    x[i] += other[i];
  }
  rig g = rig_open(&air_shelf_ops, 48000, 1, v);
  rig_run(&g, x, x, n);
  const double got =
    gain_to_db(check_tone(x + n / 2, n / 2, f_hz, 48000) / peak);
  rig_close(&g);
  free(x);
  return got;
}

/// The law: a lift of g dB becomes g (1 - c gentle/100), c a smooth step from
/// -42 to -24 dBFS RMS, which is 0, 5/32, 1/2, 27/32, 1 in quarters.  A 20 kHz
/// sine is all treble and gets nearly all of both lifts.
static void
test_gentle_law(void** state)
{
  (void)state;
  static const struct {
    double rms_dbfs, c;
  } rows[] = {
    {-60.0, 0.0},         {-43.0, 0.0}, {-37.5, 5.0 / 32.0}, {-33.0, 0.5},
    {-28.5, 27.0 / 32.0}, {-23.5, 1.0}, {-10.0, 1.0},
  };
  air_shelf_params v =
    air_shelf_with("presence_hz=1500 presence_db=6 air_hz=6000 air_db=9");
  const double whole = settled_gain_db(&v, 20000, -60.0, NULL);
  for (int pc = 50; pc <= 100; pc += 50) {
    v.gentle_pc = (float)pc;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
      const double want = whole * (1.0 - 0.01 * pc * rows[i].c);
      assert_near(settled_gain_db(&v, 20000, rows[i].rms_dbfs, NULL), want,
                  0.1);
    }
  }
}

/// Half way down, the air turns no dip into the band below its corner: 0.1 dB
/// at most, at its largest gain
static void
test_gentle_dips_nowhere(void** state)
{
  (void)state;
  const air_shelf_params v = air_shelf_with(
    "presence_hz=1500 presence_db=0 air_hz=9000 air_db=12 gentle_pc=50");
  const uint32_t n     = 96000;
  float*         other = malloc(n * sizeof(float));
  double         least = 0.0;
  assert_non_null(other);
  check_sine(other, n, 19000.0, 0.5, 48000);
  for (double f = 2000.0; f < 18000.0; f *= 1.1) {
    const double db = settled_gain_db(&v, round(f), -60.0, other);
    least           = fmin(least, db);
  }
  print_message("# least %.3f dB\n", least);
  assert_near(least, 0.0, 0.1);
  assert_near(settled_gain_db(&v, 18000.0, -60.0, other), 6.0, 0.1);
  free(other);
}

static void
test_gentle_leaves_cuts(void** state)
{
  (void)state;
  const air_shelf_params v = air_shelf_with(
    "presence_hz=1500 presence_db=-6 air_hz=6000 air_db=-6 gentle_pc=100");
  assert_near(settled_gain_db(&v, 20000, -10.0, NULL), -12.0, 0.3);
}

/// A loud low end alone does not reduce a lift, and intermittent treble does
/// not move the low end
static void
test_gentle_does_not_pump(void** state)
{
  (void)state;
  const uint32_t         n = 96000;
  const air_shelf_params v = air_shelf_with(
    "presence_hz=1500 presence_db=9 air_hz=6000 air_db=12 gentle_pc=100");
  const air_shelf_params off =
    air_shelf_with("presence_hz=1500 presence_db=9 air_hz=6000 air_db=12");
  float* other = malloc(n * sizeof(float));
  assert_non_null(other);

  check_sine(other, n, 110.0, 0.7, 48000);
  assert_near(settled_gain_db(&v, 15000, -70.0, other),
              settled_gain_db(&off, 15000, -70.0, other), 0.01);

  // The lift is gone, the low end where it was but for the foot of the shelf:
  // the presence of 9 dB at 1.5 kHz lifts 110 Hz by 0.06 dB
  check_sine(other, n, 6000.0, 0.3, 48000);
  const double want = settled_gain_db(&off, 110.0, -18.0, other);
  assert_near(settled_gain_db(&v, 110.0, -18.0, other), want, 0.07);
  assert_near(settled_gain_db(&v, 15000.0, -40.0, other), 0.0, 0.01);
  free(other);
}

/// Takes the level of the treble from the state, 10 ms after a step up and 200
/// ms after one down
static void
level_after_steps(double rate_hz, double* up_dbfs, double* down_dbfs)
{
  const air_shelf_params v = air_shelf_with(
    "presence_hz=3000 presence_db=3 air_hz=11000 air_db=6 gentle_pc=100");
  const uint32_t   n = (uint32_t)(0.5 * rate_hz);
  float*           x = malloc(n * sizeof(float));
  rig              g = rig_open(&air_shelf_ops, rate_hz, 1, &v);
  const air_shelf* s = g.st.state;
  assert_non_null(x);
  check_sine(x, n, 9000, sqrt(2.0) * db_to_gain(-60.0), rate_hz);
  rig_run(&g, x, x, n);
  check_sine(x, n, 9000, sqrt(2.0) * db_to_gain(-20.0), rate_hz);
  rig_run(&g, x, x, (uint32_t)(0.010 * rate_hz));
  *up_dbfs = s->treble_dbfs;
  rig_run(&g, x, x, n - (uint32_t)(0.010 * rate_hz));
  check_sine(x, n, 9000, sqrt(2.0) * db_to_gain(-60.0), rate_hz);
  rig_run(&g, x, x, (uint32_t)(0.200 * rate_hz));
  *down_dbfs = s->treble_dbfs;
  rig_close(&g);
  free(x);
}

/// Times are in ms, not frames: 3 ms of mean square before 3 ms up or 150 ms
/// down, from the closed forms of the cascade in the power and dB domains
static void
test_gentle_timing(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000};
  for (int r = 0; r < 4; ++r) {
    double up, down;
    level_after_steps(rates_hz[r], &up, &down);

    // Both stages by small steps of time
    double power = 1e-6, level = -60.0;
    for (int i = 0; i < 10000; ++i) {
      power += 1e-6 / 0.003 * (1e-2 - power);
      level += 1e-6 / 0.003 * (10.0 * log10(power) - level);
    }
    assert_near(up, level, 0.5);
    power = 1e-2;
    level = -20.0;
    for (int i = 0; i < 200000; ++i) {
      power += 1e-6 / 0.003 * (1e-6 - power);
      level += 1e-6 / 0.150 * (10.0 * log10(power) - level);
    }
    assert_near(down, level, 0.5);
  }
}

/// Returns the peak above 11 kHz for a low tone and a 2.5 kHz one that swells
/// and fades so softly that it has nothing there itself
static double
swell_residue_db(float gentle_pc)
{
  air_shelf_params v =
    air_shelf_with("presence_hz=1500 presence_db=9 air_hz=6000 air_db=12");
  v.gentle_pc      = gentle_pc;
  const uint32_t n = 96000;
  float*         x = malloc(n * sizeof(float));
  double*        y = malloc(n * sizeof(double));
  assert_non_null(x);
  assert_non_null(y);
  for (uint32_t i = 0; i < n; ++i) {
    // Up within 60 ms, down within 60 ms, twice a second
    const double t     = fmod(i / 48000.0, 0.5);
    const double there = t < 0.06   ? t / 0.06
                         : t < 0.25 ? 1.0
                         : t < 0.31 ? (0.31 - t) / 0.06
                                    : 0.0;
    const double swell = pow(0.5 - 0.5 * cos(DSP_PI * there), 4.0);
    x[i] = (float)(0.18 * sin(2.0 * DSP_PI * 220.0 * i / 48000.0) +
                   0.25 * swell * sin(2.0 * DSP_PI * 2500.0 * i / 48000.0));
  }
  rig g = rig_open(&air_shelf_ops, 48000, 1, &v);
  rig_run(&g, x, x, n);
  for (uint32_t i = 0; i < n; ++i) {
    y[i] = (double)x[i];
  }
  click_high_pass(y, n, 11000.0, 48000);
  const double peak_db = click_peak_db(y + 4800, n - 4800);
  rig_close(&g);
  free(x);
  free(y);
  return peak_db;
}

static void
test_gentle_moves_without_clicks(void** state)
{
  (void)state;
  assert_below(swell_residue_db(0), -110.0); // Of the signal itself
  assert_below(swell_residue_db(100), CLICK_LIMIT_DB);
}

static void
test_no_control_clicks(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 192000};
  for (int r = 0; r < 3; ++r) {
    for (uint32_t i = 0; i < air_shelf_n_params; ++i) {
      const param_info* p = &air_shelf_param_info[i];
      assert_true(click_of_control_db(&air_shelf_ops, rates_hz[r], i, p->min,
                                      p->max) < CLICK_LIMIT_DB);
    }
  }
  // All at once, gentle in the middle of its range
  const air_shelf_params a = air_shelf_with(
    "presence_hz=1500 presence_db=-6 air_hz=6000 air_db=-6 gentle_pc=50");
  const air_shelf_params b = air_shelf_with(
    "presence_hz=6000 presence_db=9 air_hz=16000 air_db=12 gentle_pc=100");
  assert_below(click_of_jump(&air_shelf_ops, 48000, &a, &b).jump_db,
               CLICK_LIMIT_DB);
}

static void
test_promises(void** state)
{
  (void)state;
  const air_shelf_params plain  = air_shelf_with(NULL);
  const air_shelf_params gentle = air_shelf_with(
    "presence_hz=2000 presence_db=6 air_hz=9000 air_db=9 gentle_pc=80");
  promise_both_forms(&air_shelf_ops, &plain, &gentle);
  promise_both_forms(&air_shelf_ops, &gentle, &plain);
  promise_both_forms(&air_shelf_ops, &gentle, NULL);
  promise_finite(&air_shelf_ops, 2);
  promise_finite_held(&air_shelf_ops, 2);
  rig g = rig_open(&air_shelf_ops, 48000, 1, NULL);
  assert_int_equal(g.st.ops->latency_frames(g.st.state), 0);
  rig_close(&g);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_curves),
    cmocka_unit_test(test_nyquist),
    cmocka_unit_test(test_air_leaves_what_masks_it),
    cmocka_unit_test(test_flat_is_bit_exact),
    cmocka_unit_test(test_exactly_linear_without_gentle),
    cmocka_unit_test(test_gentle_law),
    cmocka_unit_test(test_gentle_dips_nowhere),
    cmocka_unit_test(test_gentle_leaves_cuts),
    cmocka_unit_test(test_gentle_does_not_pump),
    cmocka_unit_test(test_gentle_timing),
    cmocka_unit_test(test_gentle_moves_without_clicks),
    cmocka_unit_test(test_no_control_clicks),
    cmocka_unit_test(test_promises),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
