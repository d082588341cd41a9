// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sections against their analog prototypes, as closed forms.
///
/// Prototypes: W3C Group Note "Audio EQ Cookbook", 8 June 2021.  Matched
/// designs: M. Vicanek 2016, 2019, 2024.  Butterworth: any filter handbook,
/// |H|^2 = 1 / (1 + (fc/f)^2n).

#include "tests/support/check.h"

#include "common/filters/eq.h"

#include <complex.h>

/// In double: that of complex.h is float
#define J ((double complex)I)

#define N_RATES 6

static const double rates_hz[N_RATES] = {22050, 44100,  48000,
                                         96000, 192000, 384000};

/// `i` of `n` steps from `from` to `to`, evenly spaced on a log scale
static double
log_step(double from, double to, int i, int n)
{
  return from * pow(to / from, (double)i / n);
}

/// The four prototypes, dB at f for a corner at f0

static double
analog_shelf_db(double f, double f0, double gain_db)
{
  const double         a  = pow(10.0, gain_db / 40.0);
  const double complex s  = J * (f / f0);
  const double complex s1 = s * sqrt(a) * sqrt(2.0);
  return gain_to_db(cabs(a * (a * s * s + s1 + 1.0) / (s * s + s1 + a)));
}

static double
analog_shelf_1_db(double f, double f0, double gain_db)
{
  const double g  = pow(10.0, gain_db / 20.0);
  const double x2 = f * f / (f0 * f0);
  return 10.0 * log10((1.0 + g * x2) / (1.0 + x2 / g));
}

static double
analog_bell_db(double f, double f0, double gain_db, double q)
{
  const double         a = pow(10.0, gain_db / 40.0);
  const double complex s = J * (f / f0);
  return gain_to_db(
    cabs((s * s + s * a / q + 1.0) / (s * s + s / (a * q) + 1.0)));
}

static double
analog_low_pass_db(double f, double f0, double q)
{
  const double complex s = J * (f / f0);
  return -gain_to_db(cabs(s * s + s / q + 1.0));
}

typedef enum { SHELF, SHELF_1, BELL, LOW_PASS } curve;

static double
analog_db(curve c, double f, double f0, double gain_db, double q)
{
  return c == SHELF     ? analog_shelf_db(f, f0, gain_db)
         : c == SHELF_1 ? analog_shelf_1_db(f, f0, gain_db)
         : c == BELL    ? analog_bell_db(f, f0, gain_db, q)
                        : analog_low_pass_db(f, f0, q);
}

static biquad
design(curve c, double f0, double gain_db, double q, double rate_hz)
{
  return c == SHELF     ? eq_high_shelf(f0, gain_db, rate_hz)
         : c == SHELF_1 ? eq_high_shelf_1(f0, gain_db, rate_hz)
         : c == BELL    ? eq_bell(f0, gain_db, q, rate_hz)
                        : eq_low_pass(f0, q, rate_hz);
}

/// Largest distance from the prototype from 5 Hz up to `top_hz`, in dB
static double
worst_db(curve  c,
         double f0,
         double gain_db,
         double q,
         double rate_hz,
         double top_hz)
{
  const biquad d     = design(c, f0, gain_db, q, rate_hz);
  double       worst = 0.0;
  for (int i = 0; i <= 1600; ++i) {
    const double f = log_step(5.0, top_hz, i, 1600);
    const double e =
      eq_response_db(d, f, rate_hz) - analog_db(c, f, f0, gain_db, q);
    worst = fmax(worst, fabs(e));
  }
  return worst;
}

/// A setting, and its coefficients by the papers' own arithmetic (in
/// sin^2(w/2)), computed in numpy
typedef struct {
  curve  curve;
  double f0, gain_db, q, rate_hz;
  double b0, b1, b2, a1, a2;
} coefs_row;

// clang-format off: one line per polynomial
static const coefs_row coefs_rows[] = {
  {BELL, 10000, 12, 0.7, 44100, 2.3470209940896245, -1.2059191565155358,
   -0.06654834476031518, -0.28600497357474797, 0.3605584663885217},
  {BELL, 500, 6, 1.4, 48000, 1.0164678175351611, -1.9637684150449286,
   0.951512664484693, -1.9632332379764565, 0.967445304951382},
  {LOW_PASS, 5000, 0, 1.3066, 48000, 0.25466848264582626, 0.07048026847624428,
   0.0, -1.2808258277538194, 0.6059745788758899},
  {SHELF_1, 3000, 6, 0, 48000, 1.7613375518435996, -1.3331503675176593, 0.0,
   -0.5718128156740595, 0.0},
  {SHELF, 11000, 5, 0, 48000, 1.3378030913873484, -0.7275829605583313,
   0.21383957991648328, -0.24538465854735186, 0.0694443692928521},
  {SHELF, 16000, 12, 0, 22050, 1.0731179053184206, 0.045254814845656535,
   -0.18908988575057672, 0.1516843210835946, -0.22240148667009435},
};
// clang-format on

static void
test_coefficients_of_the_papers(void** state)
{
  (void)state;
  for (size_t i = 0; i < sizeof(coefs_rows) / sizeof(coefs_rows[0]); ++i) {
    const coefs_row want = coefs_rows[i];
    const biquad    got =
      design(want.curve, want.f0, want.gain_db, want.q, want.rate_hz);
    assert_near(got.b0, want.b0, 1e-10);
    assert_near(got.b1, want.b1, 1e-10);
    assert_near(got.b2, want.b2, 1e-10);
    assert_near(got.a1, want.a1, 1e-10);
    assert_near(got.a2, want.a2, 1e-10);
  }
}

/// Worst errors of the published formulas, computed with numpy (they belong to
/// the formulas, not to this code); 10 % margin
static void
test_matched_designs_keep_the_analog_curve(void** state)
{
  (void)state;
  static const struct {
    curve  curve;
    double f0, gain_db, q, rate_hz, worst_18k_db, worst_20k_db;
  } rows[] = {
    {SHELF, 2000, 6, 0, 44100, 0.0005, 0.0005},
    {SHELF, 3000, 6, 0, 44100, 0.0015, 0.0015},
    {SHELF, 5000, 6, 0, 44100, 0.008, 0.008},
    {SHELF, 5000, 12, 0, 44100, 0.019, 0.019},
    {SHELF, 8000, 6, 0, 44100, 0.036, 0.036},
    {SHELF, 8000, 12, 0, 44100, 0.086, 0.086},
    {SHELF, 10000, 6, 0, 44100, 0.068, 0.070},
    {SHELF, 10000, 12, 0, 44100, 0.151, 0.158},
    {SHELF, 12000, 6, 0, 44100, 0.100, 0.113},
    {SHELF, 12000, 12, 0, 44100, 0.205, 0.241},
    {SHELF, 14000, 12, 0, 44100, 0.230, 0.315},
    {SHELF, 16000, 6, 0, 44100, 0.125, 0.195},
    {SHELF, 16000, 12, 0, 44100, 0.228, 0.369},
    {SHELF, 8000, 12, 0, 48000, 0.061, 0.066},
    {SHELF, 12000, 12, 0, 48000, 0.129, 0.192},
    {SHELF, 12000, -12, 0, 48000, 0.129, 0.192},
    {SHELF, 16000, 12, 0, 48000, 0.172, 0.270},
    {SHELF_1, 3000, 6, 0, 44100, 0.04, 0.04},
    {SHELF_1, 5000, 6, 0, 44100, 0.08, 0.08},
    {SHELF_1, 8000, 6, 0, 44100, 0.13, 0.14},
    {SHELF_1, 12000, 6, 0, 44100, 0.17, 0.17},
    {BELL, 3000, 6, 0.7, 44100, 0.08, 0.11},
    {BELL, 5000, 6, 0.7, 44100, 0.19, 0.27},
    {BELL, 8000, 6, 0.7, 44100, 0.33, 0.50},
    {BELL, 10000, 6, 0.7, 44100, 0.35, 0.59},
    {BELL, 10000, 12, 0.7, 44100, 0.54, 0.96},
    {BELL, 10000, -12, 0.7, 44100, 0.54, 0.96},
    {BELL, 16000, 6, 0.7, 44100, 0.24, 0.28},
    {BELL, 5000, 6, 1.4, 44100, 0.06, 0.09},
    {BELL, 10000, 6, 1.4, 44100, 0.22, 0.35},
    {BELL, 12000, 12, 1.4, 44100, 0.41, 0.80},
    {BELL, 10000, 6, 4, 44100, 0.0443, 0.0638},
    {BELL, 8000, 6, 0.7, 48000, 0.22, 0.33},
    {BELL, 10000, 12, 0.7, 48000, 0.35, 0.61},
    {BELL, 12000, 12, 1.4, 48000, 0.25, 0.47},
    {LOW_PASS, 5000, 0, 0.70711, 44100, 0.9, 1.7},
    {LOW_PASS, 5000, 0, 0.70711, 48000, 0.55, 1.0},
  };
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const double e18 = worst_db(rows[i].curve, rows[i].f0, rows[i].gain_db,
                                rows[i].q, rows[i].rate_hz, 18000);
    const double e20 = worst_db(rows[i].curve, rows[i].f0, rows[i].gain_db,
                                rows[i].q, rows[i].rate_hz, 20000);
    assert_near(e18, 0.0, 1.1 * rows[i].worst_18k_db);
    assert_near(e20, 0.0, 1.1 * rows[i].worst_20k_db);
  }
}

/// The designs converge to the prototype: at least three times as close with
/// each doubling of the rate, and always close for low corners
static void
test_errors_vanish_with_the_rate(void** state)
{
  (void)state;
  static const struct {
    curve  curve;
    double f0, gain_db, q;
  } rows[] = {
    {SHELF, 12000, 12, 0},  {SHELF, 5000, -9, 0},   {SHELF_1, 3000, 6, 0},
    {BELL, 10000, 12, 0.7}, {BELL, 3500, -12, 0.5}, {LOW_PASS, 5000, 0, 1.3},
    {SHELF_1, 1500, -6, 0},
  };
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    double last = 4.0; // dB
    for (int octave = 0; octave <= 3; ++octave) {
      const double rate_hz = 48000.0 * (1 << octave);
      const double e = worst_db(rows[i].curve, rows[i].f0, rows[i].gain_db,
                                rows[i].q, rate_hz, 20000);
      assert_near(e, 0.0, last / 3.0);
      last = e;
    }
  }
  for (int i = 0; i < N_RATES; ++i) {
    const double top_hz = 0.4 * rates_hz[i];
    assert_near(worst_db(SHELF, 20, 12, 0, rates_hz[i], top_hz), 0.0, 1e-4);
    assert_near(worst_db(BELL, 80, -12, 7, rates_hz[i], top_hz), 0.0, 1e-4);
  }
}

/// Low shelf = gain x high shelf of the opposite gain, in the cookbook too
static void
test_low_shelf_mirrors(void** state)
{
  (void)state;
  const biquad q = eq_low_shelf(150.0, 9.0, 48000.0);
  for (int i = 0; i <= 90; ++i) {
    const double f    = log_step(5.0, 20000.0, i, 90);
    const double want = 9.0 + analog_shelf_db(f, 150.0, -9.0);
    assert_near(eq_response_db(q, f, 48000.0), want, 0.001);
  }
}

static double
noise(uint32_t* seed)
{
  return (double)check_noise(seed);
}

static bool
is_minimum_phase_and_stable(biquad q)
{
  // Jury: |a2| < 1 and |a1| < 1 + a2; the same for the numerator
  const double b1 = q.b1 / q.b0;
  const double b2 = q.b2 / q.b0;
  return fabs(q.a2) < 1.0 && fabs(q.a1) < 1.0 + q.a2 && fabs(b2) < 1.0 &&
         fabs(b1) < 1.0 + b2;
}

static void
test_cut_undoes_boost_and_all_is_stable(void** state)
{
  (void)state;
  uint32_t seed = 1;
  for (int i = 0; i < 20000; ++i) {
    const double rate_hz = rates_hz[i % N_RATES];
    const double f0      = 20.0 * pow(1000.0, fabs(noise(&seed)));
    const double gain_db = 24.0 * noise(&seed);
    const double q       = 0.4 * pow(20.0, fabs(noise(&seed)));
    const double f       = 0.49 * rate_hz * fabs(noise(&seed));
    for (int c = SHELF; c <= BELL; ++c) {
      const biquad boost = design((curve)c, f0, gain_db, q, rate_hz);
      const biquad cut   = design((curve)c, f0, -gain_db, q, rate_hz);
      assert_true(is_minimum_phase_and_stable(boost));
      assert_true(is_minimum_phase_and_stable(cut));
      assert_near(eq_response_db(boost, f, rate_hz) +
                    eq_response_db(cut, f, rate_hz),
                  0.0, 1e-6);
    }
  }
}

/// So that a filter at 0 dB passes the signal bit for bit
static void
test_zero_db_is_exactly_flat(void** state)
{
  (void)state;
  for (int i = 0; i < N_RATES; ++i) {
    for (int j = 0; j <= 25; ++j) {
      const double f0 = log_step(20.0, 30000.0, j, 25);
      for (int c = SHELF; c <= BELL; ++c) {
        const biquad q = design((curve)c, f0, 0.0, 0.9, rates_hz[i]);
        assert_true(q.b0 == 1.0 && q.b1 == q.a1 && q.b2 == q.a2);
      }
    }
  }
}

static void
test_butterworth_high_passes(void** state)
{
  (void)state;
  for (int i = 0; i < N_RATES; ++i) {
    for (uint32_t n = 2; n <= 4; ++n) {
      for (int octave = -2; octave <= 3; ++octave) {
        const double x   = pow(2.0, octave);
        const double f   = 70.0 * x;
        double       got = 0.0;
        for (uint32_t j = 0; j < n / 2; ++j) {
          const double q = eq_butterworth_q(n, j);
          got +=
            eq_response_db(eq_high_pass(70.0, q, rates_hz[i]), f, rates_hz[i]);
        }
        if (n == 3) {
          got +=
            eq_response_db(eq_high_pass_1(70.0, rates_hz[i]), f, rates_hz[i]);
        }
        assert_near(got, -10.0 * log10(1.0 + pow(x, -2.0 * n)), 0.02);
      }
    }
  }
}

/// Pole qualities as tabulated (A. Zverev, "Handbook of Filter Synthesis",
/// 1967, from memory; recomputed as 1 / (2 cos th))
static void
test_butterworth_qualities(void** state)
{
  (void)state;
  assert_near(eq_butterworth_q(2, 0), 0.7071, 5e-5);
  assert_near(eq_butterworth_q(3, 0), 1.0, 5e-5);
  assert_near(eq_butterworth_q(4, 0), 0.5412, 5e-5);
  assert_near(eq_butterworth_q(4, 1), 1.3066, 5e-5);
  assert_near(eq_butterworth_q(5, 0), 0.6180, 5e-5);
  assert_near(eq_butterworth_q(5, 1), 1.6180, 5e-5);
  assert_near(eq_butterworth_q(6, 2), 1.9319, 5e-5);
  assert_near(eq_butterworth_q(8, 3), 2.5629, 5e-5);
}

/// The width in octaves is that between the half-gain points
static void
test_bell_width(void** state)
{
  (void)state;
  for (int i = 0; i <= 8; ++i) {
    const double oct = 0.2 + 0.35 * i;
    const biquad q   = eq_bell(400.0, -8.0, eq_q_of_oct(oct), 192000.0);
    assert_near(eq_response_db(q, 400.0, 192000.0), -8.0, 1e-6);
    assert_near(eq_response_db(q, 400.0 * pow(2, oct / 2), 192000.0), -4.0,
                0.01);
    assert_near(eq_response_db(q, 400.0 * pow(2, -oct / 2), 192000.0), -4.0,
                0.01);
  }
}

static void
test_notch(void** state)
{
  (void)state;
  const biquad q = eq_notch(60.0, 10.0, 48000.0);
  assert_true(eq_response_db(q, 60.0, 48000.0) < -150.0);
  assert_near(eq_response_db(q, 60.0 + 3.07, 48000.0), -3.01, 0.05);
  assert_near(eq_response_db(q, 60.0 - 2.93, 48000.0), -3.01, 0.05);
  assert_near(eq_response_db(q, 0.0, 48000.0), 0.0, 1e-9);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_coefficients_of_the_papers),
    cmocka_unit_test(test_matched_designs_keep_the_analog_curve),
    cmocka_unit_test(test_errors_vanish_with_the_rate),
    cmocka_unit_test(test_low_shelf_mirrors),
    cmocka_unit_test(test_cut_undoes_boost_and_all_is_stable),
    cmocka_unit_test(test_zero_db_is_exactly_flat),
    cmocka_unit_test(test_butterworth_high_passes),
    cmocka_unit_test(test_butterworth_qualities),
    cmocka_unit_test(test_bell_width),
    cmocka_unit_test(test_notch),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
