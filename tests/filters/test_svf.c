// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The state-variable filter against the difference equation of its biquad,
/// and its bounds while coefficients move (A. Wishnick, DAFx-14).

#include "tests/support/check.h"

#include "common/filters/svf.h"

#include <string.h>

#define N_FRAMES  4800
#define N_DESIGNS 8

static void
designs(biquad d[N_DESIGNS], double rate_hz)
{
  d[0] = eq_high_shelf(11000, 12, rate_hz);
  d[1] = eq_bell(220, -12, 4, rate_hz);
  d[2] = eq_high_pass(20, 1.3066, rate_hz);
  d[3] = eq_low_pass(5000, 0.5412, rate_hz);
  d[4] = eq_high_shelf_1(3000, 6, rate_hz);
  d[5] = eq_high_pass_1(70, rate_hz);
  d[6] = eq_notch(60, 10, rate_hz);
  d[7] = eq_low_shelf(120, 9, rate_hz);
}

static void
fill_noise(float* x, uint32_t n, uint32_t seed)
{
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = check_noise(&seed);
  }
}

/// y = b0 x + b1 x1 + b2 x2 - a1 y1 - a2 y2
static void
direct_form(biquad q, const double* x, double* y, uint32_t n)
{
  double x1 = 0.0, x2 = 0.0, y1 = 0.0, y2 = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double now =
      q.b0 * x[i] + q.b1 * x1 + q.b2 * x2 - q.a1 * y1 - q.a2 * y2;
    x2   = x1;
    x1   = x[i];
    y2   = y1;
    y1   = now;
    y[i] = now;
  }
}

/// In blocks of `block`
static void
run(svf* f, uint32_t n_filters, f64x2* x, uint32_t n_channels, uint32_t block)
{
  for (uint32_t i = 0; i < N_FRAMES; i += block) {
    const uint32_t left = N_FRAMES - i;
    svf_run(f, n_filters, x + i, n_channels, left < block ? left : block);
  }
}

static void
test_equals_the_biquad(void** state)
{
  (void)state;
  static double x[N_FRAMES], want[N_FRAMES];
  static f64x2  y[N_FRAMES];
  static float  noise[N_FRAMES];
  fill_noise(noise, N_FRAMES, 7);

  for (int r = 0; r < 2; ++r) {
    biquad d[N_DESIGNS];
    designs(d, r ? 192000.0 : 44100.0);
    for (int j = 0; j < N_DESIGNS; ++j) {
      for (uint32_t i = 0; i < N_FRAMES; ++i) {
        x[i] = (double)noise[i];
        y[i] = (f64x2){x[i], -x[i]};
      }
      svf f;
      svf_reset(&f);
      svf_snap(&f, d[j]);
      run(&f, 1, y, 2, CONTROL_FRAMES);
      direct_form(d[j], x, want, N_FRAMES);
      for (uint32_t i = 0; i < N_FRAMES; ++i) {
        assert_near(y[i][0], want[i], 1e-9);
        assert_true(y[i][1] == -y[i][0]);
      }
    }
  }
}

/// In series, in odd numbers, mono and stereo, any block: one result to the bit
static void
test_cascade_is_one_by_one(void** state)
{
  (void)state;
  static f64x2 want[N_FRAMES], got[N_FRAMES];
  static float noise[2][N_FRAMES];
  fill_noise(noise[0], N_FRAMES, 3);
  fill_noise(noise[1], N_FRAMES, 4);
  biquad d[N_DESIGNS];
  designs(d, 48000.0);
  static const uint32_t blocks[] = {1, 7, 32};

  for (uint32_t n_filters = 1; n_filters <= N_DESIGNS; ++n_filters) {
    svf f[N_DESIGNS];
    for (uint32_t i = 0; i < N_FRAMES; ++i) {
      want[i] = (f64x2){(double)noise[0][i], (double)noise[1][i]};
    }
    for (uint32_t j = 0; j < n_filters; ++j) {
      svf_reset(&f[j]);
      svf_snap(&f[j], d[j]);
      run(&f[j], 1, want, 2, CONTROL_FRAMES);
    }
    for (int v = 0; v < 6; ++v) {
      const uint32_t n_channels = 1 + v % 2;
      for (uint32_t j = 0; j < n_filters; ++j) {
        svf_reset(&f[j]);
      }
      for (uint32_t i = 0; i < N_FRAMES; ++i) {
        got[i] = (f64x2){(double)noise[0][i], (double)noise[1][i]};
      }
      run(f, n_filters, got, n_channels, blocks[v / 2]);
      for (uint32_t i = 0; i < N_FRAMES; ++i) {
        assert_true(got[i][0] == want[i][0]);
        assert_true(n_channels == 1 || got[i][1] == want[i][1]);
      }
    }
  }
}

static biquad
random_design(uint32_t* seed)
{
  const double u  = 0.5 + 0.5 * (double)check_noise(seed);
  const double f0 = 20.0 * pow(900.0, 0.5 + 0.5 * (double)check_noise(seed));
  const double db = 18.0 * (double)check_noise(seed);
  return u < 0.5 ? eq_bell(f0, db, 0.5 + 7.0 * u, 48000.0)
                 : eq_high_shelf(f0, db, 48000.0);
}

/// |y| of a prototype in Python: 12 with bells, 16 with shelves.  A direct form
/// II transposed overflows.
static void
test_bounded_when_jumped_every_frame(void** state)
{
  (void)state;
  svf f;
  svf_reset(&f);
  uint32_t seed = 5;
  for (int i = 0; i < 48000; ++i) {
    svf_snap(&f, random_design(&seed));
    f64x2 x = {check_noise(&seed) > 0.0F ? 1.0 : -1.0, 1.0};
    svf_run(&f, 1, &x, 2, 1);
    assert_true(fabs(x[0]) < 40.0 && fabs(x[1]) < 40.0);
  }
}

static void
test_bounded_when_ramped_every_line(void** state)
{
  (void)state;
  svf f;
  svf_reset(&f);
  svf_snap(&f, eq_unity());
  uint32_t seed = 6;
  for (int i = 0; i < 48000; i += CONTROL_FRAMES) {
    svf_push(&f, random_design(&seed));
    f64x2 x[CONTROL_FRAMES];
    for (int j = 0; j < CONTROL_FRAMES; ++j) {
      x[j] = (f64x2){check_noise(&seed) > 0.0F ? 1.0 : -1.0, 1.0};
    }
    svf_run(&f, 1, x, 2, CONTROL_FRAMES);
    for (int j = 0; j < CONTROL_FRAMES; ++j) {
      assert_true(fabs(x[j][0]) < 40.0 && fabs(x[j][1]) < 40.0);
    }
  }
}

/// After a move the filter is exactly where a snap would have put it
static void
test_ramp_arrives(void** state)
{
  (void)state;
  const biquad from = eq_bell(400, 6, 1, 48000);
  const biquad to   = eq_bell(900, -3, 2, 48000);
  svf          f;
  svf          g;
  svf_reset(&f);
  svf_snap(&f, from);
  svf_snap(&g, to);
  int lines = 0;
  do {
    svf_push(&f, to);
    f64x2 x[CONTROL_FRAMES] = {{0}};
    svf_run(&f, 1, x, 2, CONTROL_FRAMES);
    ++lines;
  } while (f.moving);
  assert_int_equal(lines, 3); // Two for the spline, one to see it flat
  assert_memory_equal(&f.step, &g.step, sizeof(f.step));
}

/// The moving path, held still, is the static one except for float coefficients
static void
test_moving_path_is_the_same_filter(void** state)
{
  (void)state;
  static f64x2 x[N_FRAMES], y[N_FRAMES];
  biquad       d[N_DESIGNS];
  uint32_t     seed = 8;
  designs(d, 48000.0);
  for (int j = 0; j < N_DESIGNS; ++j) {
    svf still, moving;
    svf_reset(&still);
    svf_snap(&still, d[j]);
    moving        = still;
    moving.moving = true;
    for (int i = 0; i < N_FRAMES; ++i) {
      const double v = (double)check_noise(&seed);
      x[i] = y[i] = (f64x2){v, -v};
    }
    run(&still, 1, x, 2, CONTROL_FRAMES);
    run(&moving, 1, y, 2, CONTROL_FRAMES);
    for (int i = 0; i < N_FRAMES; ++i) {
      assert_near(y[i][0], x[i][0], 1e-5);
      assert_near(y[i][1], x[i][1], 1e-5);
    }
  }
}

/// A gain that passes through 0 dB has no seam there
static void
test_no_seam_at_zero_db(void** state)
{
  (void)state;
  const svf_coefs a = svf_of_biquad(eq_bell(400, -1e-9, 1, 48000));
  const svf_coefs b = svf_of_biquad(eq_bell(400, 0.0, 1, 48000));
  assert_near(a.g, b.g, 1e-8);
  assert_near(a.k, b.k, 1e-8);
  assert_true(b.m0 == 1.0 && b.m1 == 0.0 && b.m2 == 0.0);
}

/// A scaled effect is what its name says, at Nyquist, DC and between
static void
test_scaled_effect(void** state)
{
  (void)state;
  static f64x2 x[N_FRAMES], y[N_FRAMES];
  svf          whole;
  svf          half;
  svf_reset(&whole);
  svf_reset(&half);
  const biquad q = eq_high_shelf(3000, 9, 48000);
  svf_snap(&whole, q);
  svf_snap_coefs(&half, svf_scale(svf_of_biquad(q), 0.5));
  uint32_t seed = 9;
  for (int i = 0; i < N_FRAMES; ++i) {
    x[i] = y[i] = (f64x2){(double)check_noise(&seed), 0.0};
  }
  static f64x2 dry[N_FRAMES];
  memcpy(dry, x, sizeof(x));
  run(&whole, 1, x, 2, CONTROL_FRAMES);
  run(&half, 1, y, 2, CONTROL_FRAMES);
  for (int i = 0; i < N_FRAMES; ++i) {
    assert_near(y[i][0], 0.5 * (dry[i][0] + x[i][0]), 1e-12);
  }
}

static void
test_mix_is_linear_in_every_coefficient(void** state)
{
  (void)state;
  const svf_coefs a = svf_of_biquad(eq_bell(400, -6.0, 1, 48000));
  const svf_coefs b = svf_of_biquad(eq_high_shelf(4000, 9.0, 48000));
  for (int i = 0; i <= 4; ++i) {
    const double    s = 0.25 * i;
    const svf_coefs c = svf_mix(a, b, s);
    assert_near(c.g, (1.0 - s) * a.g + s * b.g, 1e-15);
    assert_near(c.k, (1.0 - s) * a.k + s * b.k, 1e-15);
    assert_near(c.m0, (1.0 - s) * a.m0 + s * b.m0, 1e-15);
    assert_near(c.m1, (1.0 - s) * a.m1 + s * b.m1, 1e-15);
    assert_near(c.m2, (1.0 - s) * a.m2 + s * b.m2, 1e-15);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_equals_the_biquad),
    cmocka_unit_test(test_cascade_is_one_by_one),
    cmocka_unit_test(test_bounded_when_jumped_every_frame),
    cmocka_unit_test(test_bounded_when_ramped_every_line),
    cmocka_unit_test(test_moving_path_is_the_same_filter),
    cmocka_unit_test(test_ramp_arrives),
    cmocka_unit_test(test_no_seam_at_zero_db),
    cmocka_unit_test(test_scaled_effect),
    cmocka_unit_test(test_mix_is_linear_in_every_coefficient),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
