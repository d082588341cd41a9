// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reading between the samples loses nothing and delays nothing

#include "tests/support/check.h"

#include "common/tape/sinc_read.h"

#define RATE_HZ 48000.0

/// Gain and delay, in samples after SINC_BEFORE, of a read at `f_hz`
static void
respond(const sinc_weights* w, double f_hz, double* gain, double* delay)
{
  const double a  = 2.0 * DSP_PI * f_hz / RATE_HZ;
  double       re = 0.0;
  double       im = 0.0;
  for (int k = 0; k < SINC_TAPS; ++k) {
    const double h = (double)w->lane[k / 4][k % 4];
    re += h * cos(a * (k - SINC_BEFORE));
    im += h * sin(a * (k - SINC_BEFORE));
  }
  *gain  = sqrt(re * re + im * im);
  *delay = f_hz > 0.0 ? atan2(im, re) / a : 0.0;
}

static void
test_flat_and_in_time(void** state)
{
  (void)state;
  // Closed form: an ideal read has gain 1 and the delay asked for.  Up to 15
  // kHz at 48 kHz, worst half-way between two samples.
  const sinc_row* const table = sinc_table();
  double                worst = 0.0;
  for (int i = 0; i < 997; ++i) {
    const double       share = i / 997.0;
    const sinc_weights w     = sinc_weights_at(table, share);
    for (double const* f =
           (const double[]){0, 100, 1000, 5000, 10000, 15000, -1};
         *f >= 0.0; ++f) {
      double gain  = 0.0;
      double delay = 0.0;
      respond(&w, *f, &gain, &delay);
      worst = fmax(worst, fabs(gain_to_db(gain)));
      assert_near(gain_to_db(gain), 0.0, 0.002);
      if (*f > 0.0) {
        assert_near(delay, share, 5e-4);
      }
    }
  }
  print_message("# worst gain error %.5f dB\n", worst);
}

/// Value of one read, put in the place of all four
static double
value_of(f32x4 read)
{
  const f32x4 four[4] = {read, read, read, read};
  const f32x4 y       = sinc_add_up(four);
  for (int k = 1; k < 4; ++k) {
    assert_near((double)y[k], (double)y[0], 0.0);
  }
  return (double)y[0];
}

static void
test_whole_samples_are_exact(void** state)
{
  (void)state;
  const sinc_weights w = sinc_weights_at(sinc_table(), 0.0);
  float              x[SINC_TAPS];
  for (int k = 0; k < SINC_TAPS; ++k) {
    x[k] = (float)(k * k - 40);
  }
  assert_near(value_of(sinc_read(&w, x)), (double)x[SINC_BEFORE], 1e-5);
}

/// What is left of the difference between a sine that is read a little slower
/// and that sine, in dB
static double
moving_error_db(double f_hz)
{
  enum { N = 40000 };
  static float x[N];
  check_sine(x, N, f_hz, 1.0, RATE_HZ);
  double error = 0.0;
  for (uint32_t i = 0; i < 30000; ++i) {
    const double       at    = 20.0 + 0.9937 * i;
    const uint32_t     whole = (uint32_t)at;
    const sinc_weights w     = sinc_weights_at(sinc_table(), at - whole);
    const double       y     = value_of(sinc_read(&w, x + whole - SINC_BEFORE));
    const double       d     = y - sin(2.0 * DSP_PI * f_hz * at / RATE_HZ);
    error += d * d / 30000.0;
  }
  return 10.0 * log10(error / 0.5);
}

static void
test_moving_read_is_clean(void** state)
{
  (void)state;
  // J. F. Kaiser (1974): a window of beta 8 errs by 10^(-(beta / 0.1102 + 8.7)
  // / 20), 81 dB, at most
  static const double f_hz[] = {200, 1000, 5000, 10000, 15000};
  for (uint32_t i = 0; i < 5; ++i) {
    const double db = moving_error_db(f_hz[i]);
    print_message("# %5.0f Hz: %.1f dB\n", f_hz[i], db);
    assert_true(db < -81.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_flat_and_in_time),
    cmocka_unit_test(test_whole_samples_are_exact),
    cmocka_unit_test(test_moving_read_is_clean),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
