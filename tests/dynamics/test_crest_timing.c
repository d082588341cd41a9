// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Crest factors of known signals, and the times that follow (Giannoulis,
/// Massberg, Reiss, 2013)

#include "tests/support/check.h"

#include "common/dynamics/crest_timing.h"

typedef double (*signal)(double t);

static double
sine_1k(double t)
{
  return 0.25 * sin(2.0 * DSP_PI * 1000.0 * t);
}

static double
sine_e2(double t)
{
  return 0.25 * sin(2.0 * DSP_PI * 82.407 * t);
}

static double
square_110(double t)
{
  return sine_1k(t * 0.11) >= 0.0 ? 0.25 : -0.25;
}

/// 20 ms of 1 kHz every 200 ms
static double
bursts(double t)
{
  return fmod(t, 0.2) < 0.02 ? sine_1k(t) : 0.0;
}

static double
silence(double t)
{
  (void)t;
  return 0.0;
}

/// Run for `s` seconds; mean crest factor in dB over the last 2 s
static double
run(crest_timing* c, signal x, double s, double rate_hz)
{
  double         sum     = 0.0;
  uint32_t       n       = 0;
  const uint32_t n_lines = (uint32_t)(s * rate_hz / CONTROL_FRAMES);
  for (uint32_t line = 0; line < n_lines; ++line) {
    float squares[CONTROL_FRAMES];
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      const double v = x((line * CONTROL_FRAMES + i) / rate_hz);
      squares[i]     = (float)(v * v);
    }
    crest_timing_update(c, squares);
    if (line > (s - 2.0) * rate_hz / CONTROL_FRAMES) {
      sum += 10.0 * log10(crest_timing_crest2(c));
      ++n;
    }
  }
  return sum / n;
}

static void
test_crest_factors(void** state)
{
  (void)state;

  // Sines 3.01 dB and squares 0 by definition.  At 82 Hz the 200 ms release of
  // the peak shows (computed, 2.98), with it the bursts (computed, 11.4; from
  // an ideal detector 13.0).
  static const double rates[] = {44100, 48000, 96000, 192000};
  for (uint32_t i = 0; i < 4; ++i) {
    crest_timing c;
    crest_timing_init(&c, rates[i]);
    assert_near(run(&c, sine_1k, 4.0, rates[i]), 3.01, 0.05);
    assert_near(run(&c, sine_e2, 4.0, rates[i]), 2.98, 0.05);
    assert_near(run(&c, square_110, 4.0, rates[i]), 0.00, 0.05);
    assert_near(run(&c, bursts, 5.0, rates[i]), 11.4, 0.2);
  }
}

static void
test_law(void** state)
{
  (void)state;

  // A sine gets the maxima of the paper, 80 ms and 1 s less the attack
  const compressor_times sine = crest_timing_law(2.0, 0.080, 1.0);
  assert_near(1e3 * sine.attack_s, 80.0, 1e-9);
  assert_near(1e3 * sine.release_s, 920.0, 1e-9);

  // Worked out for 20 ms and 0.4 s at crest factors of 6 and 12 dB
  const compressor_times soft = crest_timing_law(pow(10.0, 0.6), 0.020, 0.4);
  assert_near(1e3 * soft.attack_s, 10.05, 0.01);
  assert_near(1e3 * soft.release_s, 190.9, 0.1);
  const compressor_times hard = crest_timing_law(pow(10.0, 1.2), 0.020, 0.4);
  assert_near(1e3 * hard.attack_s, 2.52, 0.01);
  assert_near(1e3 * hard.release_s, 47.95, 0.1);
}

static void
test_times(void** state)
{
  (void)state;

  crest_timing c;
  crest_timing_init(&c, 48000.0);
  run(&c, sine_1k, 4.0, 48000.0);
  assert_near(1e3 * crest_timing_times(&c).attack_s, 20.0, 0.2);
  assert_near(1e3 * crest_timing_times(&c).release_s, 380.0, 3.8);

  // The law would ask for 40 and 760 ms
  run(&c, square_110, 4.0, 48000.0);
  assert_near(1e3 * crest_timing_times(&c).attack_s, 30.0, 0.0);
  assert_near(1e3 * crest_timing_times(&c).release_s, 600.0, 0.0);
}

static void
test_silence(void** state)
{
  (void)state;

  // From the start, and after playing: crest factor 1, no 0/0
  crest_timing c;
  crest_timing_init(&c, 48000.0);
  assert_near(crest_timing_crest2(&c), 1.0, 0.0);
  run(&c, silence, 3.0, 48000.0);
  assert_near(crest_timing_crest2(&c), 1.0, 1e-6);
  run(&c, bursts, 3.0, 48000.0);
  run(&c, silence, 20.0, 48000.0);
  assert_near(crest_timing_crest2(&c), 1.0, 1e-3);
  assert_near(1e3 * crest_timing_times(&c).attack_s, 30.0, 0.0);

  // The first millisecond after it has the shortest times
  float square[CONTROL_FRAMES];
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    square[i] = 0.1F;
  }
  crest_timing_update(&c, square);
  assert_near(1e3 * crest_timing_times(&c).attack_s, 2.0, 0.0);
  assert_near(1e3 * crest_timing_times(&c).release_s, 60.0, 0.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_crest_factors),
    cmocka_unit_test(test_law),
    cmocka_unit_test(test_times),
    cmocka_unit_test(test_silence),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
