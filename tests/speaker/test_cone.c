// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// Sizes of cone, what a rigid one radiates, and how an elastic one swings

#include "tests/support/check.h"

#include "common/speaker/cone_modes.h"

#include <string.h>

// J. Eargle, "Electroacoustical Reference Data" (1994), section 35; zeros and
// values of 2 J1(x) / x also by scipy.special.j1
static void
test_piston(void** state)
{
  (void)state;
  assert_near(cone_piston_db(0.0), 0.0, 1e-9);
  assert_near(cone_piston_db(1.614), -3.00, 0.02);
  assert_near(cone_piston_db(2.212), -6.00, 0.02);
  assert_near(cone_piston_db(2.731), -10.00, 0.02);
  assert_true(cone_piston_db(3.831706) < -80.0);
  assert_true(cone_piston_db(3.8307) > -80.0);
  assert_true(cone_piston_db(3.8327) > -80.0);
  assert_near(cone_piston_db(5.136), -17.57, 0.02);
}

/// Parameters of R. H. Small, J. Audio Eng. Soc. 20(5), 1972, in free air
typedef struct {
  double fs_hz, qms, qes, qts;
} small_set;

static small_set
small_of(const motor_driver* d)
{
  const double ws   = sqrt(d->kms / d->mms_kg);
  const double u0   = d->x0_m / d->xb_m;
  const double rest = d->bl / (1.0 + u0 * u0); // Force factor at rest
  const double qms  = ws * d->mms_kg / d->rms;
  const double qes  = ws * d->mms_kg * d->re_ohm / (rest * rest);
  return (small_set){.fs_hz = ws / (2.0 * DSP_PI),
                     .qms   = qms,
                     .qes   = qes,
                     .qts   = qms * qes / (qms + qes)};
}

// What a set of one 12 inch guitar loudspeaker of 8 ohm looks like
static void
test_sets_are_those_of_guitar_loudspeakers(void** state)
{
  (void)state;
  for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
    const double       s = cone_scale((cone_size)size);
    const motor_driver d = cone_driver((cone_size)size, true);
    const small_set    t = small_of(&d);

    // Resonance of 12 inch from 70 to 110 Hz, and the longer the larger the
    // cone; Qts of instrument loudspeakers from 0.4 to 0.8, Qms from 4 to 12:
    // common practice
    assert_near(t.fs_hz * s, 90.0, 20.0);
    assert_near(t.qts, 0.6, 0.2);
    assert_near(t.qms, 8.0, 4.0);

    // 8 ohm nominal: the coil has at most 8, and the least of the impedance is
    // not below 80 % of it (IEC 60268-5, from memory)
    assert_near(d.re_ohm, 7.2, 0.8);

    // Moving mass of 12 inch paper cones from 22 to 40 g, by area: common
    // practice
    assert_near(d.mms_kg / (s * s), 0.031, 0.009);

    // fc = fs sqrt(1 + alpha) (Small 1972).  A box of 12 inch, 40 to 60 l, is
    // large for its driver: alpha below 1 (common practice)
    const motor_driver b     = cone_driver((cone_size)size, false);
    const double       alpha = b.kms / d.kms - 1.0;
    assert_true(alpha > 0.1 && alpha < 1.0);
    assert_near(small_of(&b).qms, t.qms * sqrt(1.0 + alpha), 1e-9);
    assert_near(small_of(&b).fs_hz * s, 90.0, 20.0);
  }
}

#define MODES_SECONDS 2

static float tone[96000 * MODES_SECONDS];
static float ones[96000 * MODES_SECONDS];

/// Amplitude at half the frequency of a tone, made by the modes, in the last
/// second of two; *other: the same 50 Hz away
static double
half_frequency(double f_hz, double peak, double rate_hz, double* other)
{
  const uint32_t second = (uint32_t)rate_hz;
  const uint32_t n      = MODES_SECONDS * second;
  check_sine(tone, n, f_hz, peak, rate_hz);
  for (uint32_t i = 0; i < n; ++i) {
    ones[i] = 1.0F;
  }
  static cone_modes m;
  cone_modes_init(&m, CONE_12_INCH, rate_hz);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    float* const at = tone + i;
    cone_modes_process(&m, ones, ones, &at, 1, CONTROL_FRAMES);
  }
  float* const last = tone + (n - second);
  *other            = check_tone(last, second, 0.5 * f_hz + 50.0, rate_hz);
  return check_tone(last, second, 0.5 * f_hz, rate_hz);
}

// Mathieu's equation: unstable for h > 4 zeta (Landau and Lifshitz, section
// 27).  h is half the force: 0.24 at zeta 0.03.  Growth within the time takes a
// few percent more; the answer is exactly at half the frequency.
static void
test_subharmonic(void** state)
{
  (void)state;
  static const double rates[] = {48000.0, 96000.0};
  const double        onset   = 2.0 * 4.0 * CONE_MODES_ZETA;
  double              loudest = 0.0;
  for (size_t r = 0; r < 2; ++r) {
    for (int k = 0; k < 2; ++k) {
      const double f = k ? 1500.0 : 1000.0;
      double       other;
      assert_true(half_frequency(f, 0.99 * onset, rates[r], &other) < 1e-6);

      assert_true(half_frequency(f, 1.12 * onset, rates[r], &other) > 0.005);
      const double far = half_frequency(f, 2.0 * onset, rates[r], &other);
      assert_true(other < 1e-3 * far);
      // Outside its band nothing swings
      assert_true(half_frequency(f - 130.0, 0.5, rates[r], &other) < 1e-4);

      for (int i = 0; i < 6; ++i) {
        const double peak = onset * exp2(i);
        loudest =
          fmax(loudest, half_frequency(f, peak, rates[r], &other) / peak);
      }
    }
  }
  print_message("# at most %.1f dB re the tone\n", gain_to_db(loudest));
  assert_near(gain_to_db(loudest), -24.5, 0.6);
}

static void
test_modes_stay_finite(void** state)
{
  (void)state;
  static const double rates[] = {8000.0, 22050.0, 48000.0, 384000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    cone_modes m;
    cone_modes_init(&m, CONE_8_INCH, rates[r]);
    uint32_t seed = 3;
    for (int i = 0; i < 100000; ++i) {
      const float  one  = 1.0F;
      const float  loud = i < 50000 ? 16000.0F : 0.0F;
      float        x    = check_noise(&seed) < 0.0F ? -loud : loud;
      float* const at   = &x;
      cone_modes_process(&m, &one, &one, &at, 1, 1);
      assert_true(isfinite(x));
      assert_true(fabsf(x) < loud + 2.0F);
    }
  }
}

#define PAIR_FRAMES 4800U

static void
run_modes(float* const* x, uint32_t n_channels)
{
  cone_modes m;
  cone_modes_init(&m, CONE_12_INCH, 48000.0);
  for (uint32_t i = 0; i < PAIR_FRAMES; i += CONTROL_FRAMES) {
    float* const at[] = {x[0] + i, x[n_channels - 1] + i};
    cone_modes_process(&m, ones, ones, at, n_channels, CONTROL_FRAMES);
  }
}

// All four modes share a register: to the bit, each channel is what it is alone
static void
test_modes_of_two_channels(void** state)
{
  (void)state;
  static float alone[2][PAIR_FRAMES], both[2][PAIR_FRAMES];
  float* const pair[]  = {both[0], both[1]};
  float* const left[]  = {alone[0]};
  float* const right[] = {alone[1]};
  for (int k = 0; k < 2; ++k) {
    check_sine(alone[k], PAIR_FRAMES, k ? 1500.0 : 1000.0, 0.9, 48000.0);
    memcpy(both[k], alone[k], sizeof(both[k]));
  }
  for (uint32_t i = 0; i < PAIR_FRAMES; ++i) {
    ones[i] = 1.0F;
  }
  run_modes(left, 1);
  run_modes(right, 1);
  run_modes(pair, 2);
  assert_memory_equal(both, alone, sizeof(both));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_piston),
    cmocka_unit_test(test_sets_are_those_of_guitar_loudspeakers),
    cmocka_unit_test(test_subharmonic),
    cmocka_unit_test(test_modes_stay_finite),
    cmocka_unit_test(test_modes_of_two_channels),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
