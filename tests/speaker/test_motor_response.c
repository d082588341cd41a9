// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The moving coil at low levels, against its equations and closed forms

#include "tests/support/check.h"

#include "common/speaker/cone.h"

#include <complex.h>
#include <string.h>

#define MAX_FRAMES 200000

static float wave[MAX_FRAMES];

/// The equations of the linear driver at `f_hz`, scaled as the motor's output
static double
exact_db(const motor_driver* d, double source_ohm, double f_hz)
{
  const double complex s = 2.0 * DSP_PI * f_hz * (double complex)_Complex_I;
  const double complex z = d->re_ohm + source_ohm + s * d->le_h +
                           d->r2_ohm * s * d->l2_h / (d->r2_ohm + s * d->l2_h);
  const double complex a =
    s * s * d->bl /
    (z * (d->mms_kg * s * s + d->rms * s + d->kms) + d->bl * d->bl * s);
  return gain_to_db(cabs(a) * d->mms_kg * (d->re_ohm + source_ohm) / d->bl);
}

static void
run(motor* m, float* x, uint32_t n)
{
  for (uint32_t done = 0; done < n; done += CONTROL_FRAMES) {
    const uint32_t left = n - done;
    float*         at   = x + done;
    motor_process(m, (const float* const*)&at, &at, 1,
                  left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
}

/// Amplitude at f_hz of an impulse response, by its definition
static double
response(const float* x, uint32_t n, double f_hz, double rate_hz)
{
  return 0.5 * n * check_tone(x, n, f_hz, rate_hz);
}

/// Error against the exact response over a list of frequencies
static double
worst_error_db(const motor_driver* d,
               double              source_ohm,
               double              rate_hz,
               double              from_hz,
               double              to_hz)
{
  static motor m;
  motor_init(&m, d, source_ohm, rate_hz);
  const uint32_t n = (uint32_t)fmin(0.25 * rate_hz, MAX_FRAMES);
  memset(wave, 0, n * sizeof(float));
  wave[0] = 1e-6F;
  run(&m, wave, n);

  double worst = 0.0;
  for (double f = from_hz; f <= to_hz; f *= 1.122) {
    const double got = gain_to_db(response(wave, n, f, rate_hz) * 1e6);
    worst            = fmax(worst, fabs(got - exact_db(d, source_ohm, f)));
  }
  return worst;
}

// Equations: Small 1972; lossy coil as written out by Heuchel and Agerkvist,
// "Quantifying the complexity ...", ICA 2022, eq. 1-6, at x = 0
static void
test_small_signal(void** state)
{
  (void)state;
  static const double rates[] = {22050.0, 44100.0, 48000.0, 96000.0, 192000.0};

  motor_driver d = cone_driver(CONE_12_INCH, true);
  d.x0_m         = 0.0;
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    const double to_5k  = worst_error_db(&d, 8.0, rates[i], 40.0, 5000.0);
    const double to_10k = worst_error_db(&d, 8.0, rates[i], 5000.0, 10000.0);
    print_message("# %6.0f Hz: %.4f dB to 5 kHz, %.4f dB to 10 kHz\n", rates[i],
                  to_5k, to_10k);
    assert_near(to_5k, 0.0, 0.02);
    assert_near(to_10k, 0.0, 0.10);
  }
}

// The restored response for every cone and source, also while it glides there
static void
test_all_cones(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 96000.0};
  for (size_t r = 0; r < 2; ++r) {
    double to_5k  = 0.0;
    double to_10k = 0.0;
    for (int k = 0; k < 8; ++k) {
      motor_driver d = cone_driver((cone_size)(k / 2), k % 2);
      d.x0_m         = 0.0;
      for (double ohm = 0.0; ohm <= 32.0; ohm += 16.0) {
        to_5k  = fmax(to_5k, worst_error_db(&d, ohm, rates[r], 40.0, 5000.0));
        to_10k = fmax(to_10k, worst_error_db(&d, ohm, rates[r], 5e3, 10e3));
      }
    }
    print_message("# all cones, %.0f Hz: %.4f dB to 5 kHz, %.4f dB to 10 kHz\n",
                  rates[r], to_5k, to_10k);
    assert_near(to_5k, 0.0, 0.01);
    assert_near(to_10k, 0.0, 0.05);
  }
}

/// |V / E| at the terminals: E less what the current drops across Rg
static double
terminal_db(double source_ohm, double f_hz, double rate_hz)
{
  motor_driver d = cone_driver(CONE_12_INCH, true);
  d.le_h         = 0.6e-3; // A simple coil
  d.l2_h         = 0.0;
  d.x0_m         = 0.0;

  static motor m;
  motor_init(&m, &d, source_ohm, rate_hz);
  const double   gain = (d.re_ohm + source_ohm) / (d.re_ohm + MOTOR_SOURCE_OHM);
  const uint32_t n    = (uint32_t)(0.4 * rate_hz);
  memset(wave, 0, n * sizeof(float));
  for (uint32_t i = 0; i < n; ++i) {
    float        e  = i == 0 ? 1e-3F : 0.0F;
    float* const at = &e;

    const double was = m.memory.i[0];
    motor_process(&m, (const float* const*)&at, &at, 1, 1);
    const double emf = i == 0 ? 1e-3 * gain * MOTOR_FULL_SCALE_V : 0.0;
    wave[i]          = (float)(emf - source_ohm * 0.5 * (was + m.memory.i[0]));
  }
  return gain_to_db(response(wave, n, f_hz, rate_hz));
}

// Resonance and treble lift of a source impedance, from Zvc / (Zvc + Rg) with
// the same parameters (computed)
static void
test_source_impedance(void** state)
{
  (void)state;
  const double rate_hz = 384000.0; // Midpoint currents: no restoration here
  const double low_8   = terminal_db(8.0, 490.0, rate_hz);
  assert_near(terminal_db(8.0, 80.0, rate_hz) - low_8, 6.19, 0.10);
  assert_near(terminal_db(8.0, 2000.0, rate_hz) - low_8, 2.46, 0.10);
  assert_near(terminal_db(8.0, 5000.0, rate_hz) - low_8, 5.39, 0.10);

  const double low_0 = terminal_db(0.0, 490.0, rate_hz);
  assert_near(terminal_db(0.0, 80.0, rate_hz) - low_0, 0.0, 0.10);
  assert_near(terminal_db(0.0, 5000.0, rate_hz) - low_0, 0.0, 0.10);
}

/// A driver of total quality `qtc` at 100 Hz, with a negligible coil
static motor_driver
closed_box(double qtc)
{
  const double w = 2.0 * DSP_PI * 100.0;
  motor_driver d = cone_driver(CONE_12_INCH, true);
  d.mms_kg       = 0.028;
  d.kms          = d.mms_kg * w * w;
  d.rms          = w * d.mms_kg / 20.0;
  d.le_h         = 0.02e-3;
  d.l2_h         = 0.0;
  d.x0_m         = 0.0;
  // 1/Qtc = 1/Qms + Bl^2 / (w M (Re + Rg))
  d.bl = sqrt((1.0 / qtc - 1.0 / 20.0) * w * d.mms_kg * (d.re_ohm + 8.0));
  return d;
}

/// Where the response crosses -3.01 dB, by bisection
static double
corner_hz(uint32_t n, double rate_hz)
{
  double low  = 30.0;
  double high = 200.0;
  for (int i = 0; i < 30; ++i) {
    const double f                = 0.5 * (low + high);
    const double a                = response(wave, n, f, rate_hz) * 1e6;
    *(a * a < 0.5 ? &low : &high) = f;
  }
  return 0.5 * (low + high);
}

// R. H. Small, "Closed-Box Loudspeaker Systems", J. Audio Eng. Soc. 20(10),
// 1972
static void
test_closed_box(void** state)
{
  (void)state;
  static const struct {
    double qtc, corner;
  } rows[] = {
    {0.5, 1.554}, {0.577, 1.272}, {0.707, 1.000}, {1.0, 0.786}, {1.2, 0.736},
  };
  const double   rate_hz = 48000.0;
  const uint32_t n       = 24000;
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const motor_driver d = closed_box(rows[i].qtc);
    static motor       m;
    motor_init(&m, &d, 8.0, rate_hz);
    memset(wave, 0, n * sizeof(float));
    wave[0] = 1e-6F;
    run(&m, wave, n);
    assert_near(corner_hz(n, rate_hz) / 100.0, rows[i].corner,
                0.005 * rows[i].corner);
    if (rows[i].qtc == 1.0) {
      const double peak = response(wave, n, 141.4, rate_hz) * 1e6;
      assert_near(gain_to_db(peak), 1.25, 0.05);
    }
  }
}

// Copper, 0.393 % per K: 180 K make 1.707 of the resistance; loss in the band
// 20 lg((Re' + Rg) / (Re + Rg)).  4.7 dB without source: common statement of
// articles on power compression.
static void
test_warm_coil(void** state)
{
  (void)state;
  motor_driver d = cone_driver(CONE_12_INCH, true);
  d.le_h         = 0.02e-3;
  d.l2_h         = 0.0;
  d.x0_m         = 0.0;
  static const struct {
    double source_ohm, want_db;
  } rows[] = {{0.0, 4.65}, {6.5, 2.63}};

  for (size_t i = 0; i < 2; ++i) {
    double db[2];
    for (int warm = 0; warm < 2; ++warm) {
      static motor m;
      motor_init(&m, &d, rows[i].source_ohm, 48000.0);
      motor_push(&m, rows[i].source_ohm,
                 warm ? motor_warm_ohm(&d, 180.0) : d.re_ohm);
      motor_reset(&m);
      memset(wave, 0, sizeof(float) * 24000);
      wave[0] = 1e-6F;
      run(&m, wave, 24000);
      db[warm] = gain_to_db(response(wave, 24000, 2000.0, 48000.0));
    }
    assert_near(motor_warm_ohm(&d, 180.0) / d.re_ohm, 1.707, 0.001);
    assert_near(db[0] - db[1], rows[i].want_db, 0.05);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_small_signal),     cmocka_unit_test(test_all_cones),
    cmocka_unit_test(test_source_impedance), cmocka_unit_test(test_closed_box),
    cmocka_unit_test(test_warm_coil),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
