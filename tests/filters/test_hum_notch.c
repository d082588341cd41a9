// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Hum goes, notes stay: the bank against the closed form of its prototype and
/// against its targets

#include "tests/support/check.h"

#include "common/filters/hum_notch.h"

#include <string.h>

#define N_RATES 5

static const double rates_hz[N_RATES] = {8000, 44100, 48000, 192000, 384000};

/// Inverse Chebyshev band-stop of 33 dB, `d` from its centre in half widths of
/// the stop band: |H|^2 = 1 / (1 + 1 / (e T_n(d))^2)
static double
prototype_db(uint32_t order, double d)
{
  const double t  = order == 2 ? 2 * d * d - 1 : 4 * d * d * d - 3 * d;
  const double e2 = 1.0 / (pow(10.0, 3.3) - 1.0);
  return -10.0 * log10(1.0 + 1.0 / (e2 * t * t));
}

/// Checks up to four half widths off the centre of harmonic `k`.  The band is
/// symmetric on a log scale, so the mean of both sides is compared; within
/// 0.15 dB, which leaves room for the skirts of the other seven.
static void
check_harmonic(const hum_design* d, int mains, int k, double rate_hz)
{
  const double   half_hz = k <= 5 ? (0.8 + 0.4 * k) / 5.938 : 2.6 / 2.687;
  const uint32_t order   = k <= 5 ? 2 : 3;
  for (int i = 0; i <= 40; ++i) {
    const double off  = (0.11 + 0.1 * i) * half_hz;
    const double want = prototype_db(order, off / half_hz);
    const double got  = 0.5 * (hum_response_db(d, mains * k + off, rate_hz) +
                              hum_response_db(d, mains * k - off, rate_hz));
    if (want > -60.0) { // Below, both are steep
      assert_near(got, want, 0.15);
    }
  }
}

static void
test_is_the_prototype(void** state)
{
  (void)state;
  for (int r = 0; r < N_RATES; ++r) {
    for (int mains = 50; mains <= 60; mains += 10) {
      const hum_design d = hum_design_for(mains, rates_hz[r]);
      for (int k = 1; k <= HUM_HARMONICS; ++k) {
        check_harmonic(&d, mains, k, rates_hz[r]);
      }
    }
  }
}

/// Hum falls by at least 30 dB while the mains is within +-0.1 Hz, which takes
/// the eighth harmonic 0.8 Hz away; 3 Hz from a harmonic above 200 Hz the
/// loss is below 1.5 dB, and nothing is ever lifted
static void
test_hum_goes_and_neighbours_stay(void** state)
{
  (void)state;
  for (int r = 0; r < N_RATES; ++r) {
    for (int mains = 50; mains <= 60; mains += 10) {
      const hum_design d = hum_design_for(mains, rates_hz[r]);
      for (int k = 1; k <= HUM_HARMONICS; ++k) {
        for (int i = -20; i <= 20; ++i) {
          const double f = k * (mains + 0.005 * i);
          assert_below(hum_response_db(&d, f, rates_hz[r]), -30.0);
        }
        for (int i = 30; i <= 220; ++i) {
          const double above =
            hum_response_db(&d, mains * k + 0.1 * i, rates_hz[r]);
          const double below =
            hum_response_db(&d, mains * k - 0.1 * i, rates_hz[r]);
          assert_below(-fmin(above, below), 1.5);
          assert_below(fmax(above, below), 0.001);
        }
      }
      assert_near(hum_response_db(&d, 0.0, rates_hz[r]), 0.0, 1e-3);
      assert_near(hum_response_db(&d, 1000.0, rates_hz[r]), 0.0, 1e-4);
      assert_near(hum_response_db(&d, 0.5 * rates_hz[r], rates_hz[r]), 0.0,
                  1e-4);
    }
  }
}

/// As stated in the header: MIDI notes E2 (40) to E6 (88), equal temperament
static void
test_cost_to_notes(void** state)
{
  (void)state;
  static const struct {
    int    note;
    double cost_db;
  } at_50[] = {{43, 0.65}, {50, 0.26}, {55, 0.21}, {59, 1.08}};

  const hum_design d50 = hum_design_for(50, 48000);
  const hum_design d60 = hum_design_for(60, 48000);
  for (int note = 40; note <= 88; ++note) {
    const double f    = 440.0 * pow(2.0, (note - 69) / 12.0);
    double       want = 0.0;
    for (int i = 0; i < 4; ++i) {
      want = at_50[i].note == note ? at_50[i].cost_db : want;
    }
    if (note != 65) { // F4, 349.2 Hz
      assert_near(-hum_response_db(&d50, f, 48000), want,
                  want > 0 ? 0.03 : 0.1);
    }
    assert_near(hum_response_db(&d60, f, 48000), 0.0, 0.1);
  }
  assert_below(hum_response_db(&d50, 349.23, 48000), -30.0);
}

/// The running filter is the one designed, by the transform of its impulse
/// response
static void
test_runs_as_designed(void** state)
{
  (void)state;
  const double      rate_hz = 8000.0;
  const uint32_t    n       = 32768;
  const hum_design  d       = hum_design_for(60, rate_hz);
  static hum_memory m[2];
  memset(m, 0, sizeof(m));
  double* h = calloc(n, sizeof(double));
  assert_non_null(h);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    f64x2  x[CONTROL_FRAMES] = {{i == 0 ? 1.0 : 0.0, i == 0 ? -1.0 : 0.0}};
    double other[CONTROL_FRAMES];
    hum_run(&d, &m[0], x, 0, h + i, CONTROL_FRAMES);
    hum_run(&d, &m[1], x, 1, other, CONTROL_FRAMES);
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      assert_true(other[j] == -h[i + j]);
    }
  }
  h[0] += 1.0;
  for (int step = 0; step < 400; ++step) {
    const double f  = 40.0 + 1.17 * step;
    double       re = 0.0;
    double       im = 0.0;
    for (uint32_t i = 0; i < n; ++i) {
      re += h[i] * cos(2.0 * DSP_PI * f * i / rate_hz);
      im += h[i] * sin(2.0 * DSP_PI * f * i / rate_hz);
    }
    const double want = hum_response_db(&d, f, rate_hz);
    assert_near(hypot(re, im), db_to_gain(want), 1e-5);
  }
  free(h);
}

/// Mains hum that has been on for a second is gone
static void
test_settles(void** state)
{
  (void)state;
  const double      rate_hz = 48000.0;
  const hum_design  d       = hum_design_for(50, rate_hz);
  static hum_memory m;
  memset(&m, 0, sizeof(m));
  double peak = 0.0;
  for (uint32_t i = 0; i < 96000; i += CONTROL_FRAMES) {
    f64x2  x[CONTROL_FRAMES];
    double y[CONTROL_FRAMES];
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      const double t = (i + j) / rate_hz;
      x[j] = (f64x2){sin(2 * DSP_PI * 50.03 * t) + sin(2 * DSP_PI * 150.09 * t),
                     0.0};
    }
    hum_run(&d, &m, x, 0, y, CONTROL_FRAMES);
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      peak = i >= 72000 ? fmax(peak, fabs(x[j][0] + y[j])) : 0.0;
    }
  }
  assert_below(gain_to_db(0.5 * peak), -30.0);
}

/// Loss of a sine that begins at once, from 20 to 120 ms after it began
static double
onset_cost_db(const hum_design* d, double f_hz, double rate_hz)
{
  static hum_memory m;
  memset(&m, 0, sizeof(m));
  double         before = 0.0;
  double         after  = 0.0;
  const uint32_t from   = (uint32_t)(0.02 * rate_hz);
  const uint32_t to     = (uint32_t)(0.12 * rate_hz);
  for (uint32_t i = 0; i < to; i += CONTROL_FRAMES) {
    f64x2  x[CONTROL_FRAMES];
    double y[CONTROL_FRAMES];
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      x[j] = (f64x2){sin(2.0 * DSP_PI * f_hz * (i + j) / rate_hz), 0.0};
    }
    hum_run(d, &m, x, 0, y, CONTROL_FRAMES);
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      const double z = x[j][0] + y[j];
      before += i + j >= from ? x[j][0] * x[j][0] : 0.0;
      after += i + j >= from ? z * z : 0.0;
    }
  }
  return 10.0 * log10(before / after);
}

/// As stated in the header: what the attacks of E2 (40) to E6 (88) lose, 0.4 dB
/// or less where nothing is stated
static void
test_cost_to_attacks(void** state)
{
  (void)state;
  static const struct {
    int    mains, note;
    double cost_db;
  } rows[] = {
    {50, 43, 4.9}, {50, 44, 2.3}, {50, 50, 3.5},  {50, 51, 0.9}, {50, 55, 2.7},
    {50, 59, 4.6}, {50, 62, 1.1}, {50, 65, 11.4}, {60, 46, 2.6}, {60, 47, 2.6},
    {60, 53, 1.0}, {60, 54, 1.3}, {60, 62, 0.8},  {60, 68, 2.5},
  };
  for (int mains = 50; mains <= 60; mains += 10) {
    const hum_design d = hum_design_for(mains, 48000);
    for (int note = 40; note <= 88; ++note) {
      const double f    = 440.0 * pow(2.0, (note - 69) / 12.0);
      const double got  = onset_cost_db(&d, f, 48000);
      double       want = 0.0;
      for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
        const bool is_it = rows[i].mains == mains && rows[i].note == note;
        want             = is_it ? rows[i].cost_db : want;
      }
      if (want > 0.0) {
        print_message("# %d Hz, %.1f Hz: %.2f dB\n", mains, f, got);
      }
      assert_near(got, want, want > 0.0 ? 0.1 : 0.4);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_is_the_prototype),
    cmocka_unit_test(test_hum_goes_and_neighbours_stay),
    cmocka_unit_test(test_cost_to_notes),
    cmocka_unit_test(test_cost_to_attacks),
    cmocka_unit_test(test_runs_as_designed),
    cmocka_unit_test(test_settles),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
