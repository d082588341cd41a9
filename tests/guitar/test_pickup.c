// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The pickup of the demo guitar is the circuit it claims to be

#include "tests/support/check.h"

#include "presets-demo/guitar/pickup.h"

#include <complex.h>
#include <string.h>

#define RATE_HZ  48000.0
#define OHM      6e3
#define COIL_F   120e-12
#define LOAD_OHM 200e3 // 250 kohm in parallel with 1 Mohm

// Resonance of coil and cable, gain re 0 Hz [computed with numpy from the
// complex impedances, rounded to 0.1].  Such values are usual: H. Lemme, "The
// Secrets of Electric Guitar Pickups".
static const struct {
  double coil_h, cable_f, top_khz, top_db;
} ROWS[] = {
  {2.5, 300e-12, 4.7, 7.0}, {2.5, 500e-12, 3.9, 8.0}, {2.5, 1000e-12, 3.0, 9.1},
  {3.5, 300e-12, 3.9, 6.1}, {3.5, 500e-12, 3.3, 7.2}, {3.5, 1000e-12, 2.5, 8.5},
  {4.5, 300e-12, 3.4, 5.3}, {4.5, 500e-12, 2.9, 6.5}, {4.5, 1000e-12, 2.2, 8.0},
  {7.0, 300e-12, 2.6, 3.9}, {7.0, 500e-12, 2.2, 5.1}, {7.0, 1000e-12, 1.7, 6.9},
};
#define N_ROWS (sizeof(ROWS) / sizeof(ROWS[0]))

static pickup_circuit
circuit_of(uint32_t row)
{
  return (pickup_circuit){.coil_h   = ROWS[row].coil_h,
                          .coil_ohm = OHM,
                          .coil_f   = COIL_F,
                          .cable_f  = ROWS[row].cable_f,
                          .load_ohm = LOAD_OHM};
}

static void
test_resonance(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    const pickup_circuit c      = circuit_of(i);
    double               top_hz = 0.0;
    double               top    = 0.0;
    for (uint32_t f = 500; f < 8000; f += 5) {
      const double g = pickup_circuit_gain(&c, f);
      top_hz         = g > top ? f : top_hz;
      top            = g > top ? g : top;
    }
    const double re_0_hz = gain_to_db(top / pickup_circuit_gain(&c, 0.0));
    assert_near(top_hz / 1000.0, ROWS[i].top_khz, 0.055);
    assert_near(re_0_hz, ROWS[i].top_db, 0.055);
  }
}

// CMPLX() is not available everywhere; a complex number is laid out as its two
// parts
static double complex
complex_of(double re, double im)
{
  const double   parts[2] = {re, im};
  double complex z;
  memcpy(&z, parts, sizeof(z));
  return z;
}

// Against the divider of impedances, up to where a guitar has nothing left
static void
test_filter_follows_circuit(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    const pickup_circuit c = circuit_of(i);
    const pickup_filter  q = pickup_filter_of(&c, RATE_HZ);
    for (uint32_t f = 20; f < 10000; f += f / 20) {
      const double         w    = 2.0 * DSP_PI * f;
      const double complex coil = complex_of(OHM, w * ROWS[i].coil_h);
      const double complex load =
        complex_of(1.0 / LOAD_OHM, w * (COIL_F + ROWS[i].cable_f));
      const double complex z = complex_of(cos(w / RATE_HZ), -sin(w / RATE_HZ));
      const double complex h =
        (q.b0 + q.b1 * z + q.b2 * z * z) / (1.0 + q.a1 * z + q.a2 * z * z);
      const double want = gain_to_db(cabs(1.0 / (1.0 + coil * load)));
      assert_near(gain_to_db(cabs(h)), want, 0.2);
    }
  }
}

static void
test_quantiser(void** state)
{
  (void)state;
  assert_int_equal(pickup_quantise(0.0), 0);
  assert_int_equal(pickup_quantise(0.5), 4194304);
  assert_int_equal(pickup_quantise(-1.0), -8388608);
  assert_int_equal(pickup_quantise(1.0), 8388607);
  assert_int_equal(pickup_quantise(7.0), 8388607);
  assert_int_equal(pickup_quantise(-7.0), -8388608);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_resonance),
    cmocka_unit_test(test_filter_follows_circuit),
    cmocka_unit_test(test_quantiser),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
