// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The chain of all-passes: all-pass, and delayed as a bending wave is

#include "tests/support/check.h"

#include "common/plate/plate_chirp.h"

#include <complex.h>

#define J ((double complex)I)

enum { N = 98304 }; // Half a second at the highest rate here

static const double distance_m[2] = {0.567, 0.611};

static plate_chirp chirp;
static float       response[2][N];

static void
respond(double rate_hz)
{
  memset(&chirp, 0, sizeof(chirp));
  memset(response, 0, sizeof(response));
  assert_true(plate_chirp_init(&chirp, rate_hz, distance_m));
  response[0][0] = response[1][0] = 1.0F;
  for (uint32_t i = 0; i < N; i += CONTROL_FRAMES) {
    plate_chirp_process(&chirp, response[0] + i, response[1] + i,
                        CONTROL_FRAMES);
  }
}

/// Transfer function, and its derivative by -i w in frames: their ratio is the
/// group delay
static double complex
transfer(const float* h, double w, double complex* derivative)
{
  double complex sum = 0.0;
  *derivative        = 0.0;
  for (uint32_t i = 0; i < N; ++i) {
    const double complex term = (double)h[i] * cexp(-w * i * J);
    sum += term;
    *derivative += i * term;
  }
  return sum;
}

static void
test_late_by_the_law(void** state)
{
  (void)state;

  // d / (2 sqrt(2 pi f kappa)), kappa = 0.78259 m^2/s (J. Woodhouse,
  // "Euphonics", section 4.3.3; group speed twice the phase speed)
  static const double rates[] = {44100, 48000, 96000, 192000};
  static const double f_hz[]  = {60,   100,  200,  500,  1000,
                                 2000, 4000, 6000, 8000, 10000};
  for (uint32_t r = 0; r < 4; ++r) {
    respond(rates[r]);
    for (uint32_t k = 0; k < 2; ++k) {
      for (uint32_t i = 0; i < 10; ++i) {
        const double         w     = 2.0 * DSP_PI * f_hz[i] / rates[r];
        double complex       d     = 0.0;
        const double complex h     = transfer(response[k], w, &d);
        const double         got_s = creal(d / h) / rates[r];
        const double         want_s =
          distance_m[k] / (2.0 * sqrt(2.0 * DSP_PI * f_hz[i] * 0.78259));
        assert_near(cabs(h), 1.0, 2e-3);
        assert_near(got_s, want_s, f_hz[i] < 7000 ? 0.045 * want_s : 0.2e-3);
      }
    }
  }
}

static void
test_any_cut(void** state)
{
  (void)state;

  static float kept[2][N];
  respond(48000.0);
  memcpy(kept, response, sizeof(kept));
  plate_chirp_reset(&chirp);
  memset(response, 0, sizeof(response));
  response[0][0] = response[1][0] = 1.0F;
  for (uint32_t i = 0; i < N;) {
    const uint32_t left = CONTROL_FRAMES - i % CONTROL_FRAMES;
    const uint32_t want = 1 + i % 7;
    const uint32_t n    = want < left ? want : left;
    plate_chirp_process(&chirp, response[0] + i, response[1] + i, n);
    i += n;
  }
  assert_memory_equal(response, kept, sizeof(kept));
}

static void
test_every_rate_fits(void** state)
{
  (void)state;

  static const double rates[] = {8000, 16000, 22050, 44100, 384000};
  for (uint32_t r = 0; r < 5; ++r) {
    respond(rates[r]);
    for (uint32_t k = 0; k < 2; ++k) {
      assert_true(chirp.frames[k] + CONTROL_FRAMES <= PLATE_CHIRP_FRAMES);
      double energy = 0.0;
      for (uint32_t i = 0; i < N; ++i) {
        energy += (double)response[k][i] * (double)response[k][i];
      }
      assert_near(energy, 1.0, 1e-3);
    }
  }
}

static void
test_refuses_what_does_not_fit(void** state)
{
  (void)state;
  static const double far_m[2] = {0.567, 30.0};
  assert_false(plate_chirp_init(&chirp, 384000.0, far_m));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_late_by_the_law),
    cmocka_unit_test(test_any_cut),
    cmocka_unit_test(test_every_rate_fits),
    cmocka_unit_test(test_refuses_what_does_not_fit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
