// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Level change and level-matched gain, judged by libebur128 and by plain
/// gating computed here over the whole signal.

#include "tests/support/judge.h"

#include "common/level/level_change.h"
#include "common/level/loudness_match.h"

#define RATE_HZ 48000.0
#define MAX_N   (48000U * 40U)

static float dry[MAX_N], wet[MAX_N];

static level_change   levels;
static loudness_match matched;

/// Stands in for a treatment: bright, compressed, louder
static void
treat(uint32_t n, double gain)
{
  float last = 0.0F;
  for (uint32_t i = 0; i < n; ++i) {
    const float bright = dry[i] - 0.6F * last;
    last               = dry[i];
    wet[i]             = (float)(gain * tanh(4.0 * (double)bright) / 4.0);
  }
}

static void
fill_noise(uint32_t n, double rms_dbfs)
{
  uint32_t     seed = 3;
  const double peak = db_to_gain(rms_dbfs) * sqrt(3.0); // Of uniform noise
  for (uint32_t i = 0; i < n; ++i) {
    dry[i] = (float)(peak * (double)check_noise(&seed));
  }
}

static double
libebur128_lufs(const float* x, uint32_t n)
{
  return judge_lufs(&x, 1, 0, n);
}

/// Gated RMS by definition: all 400 ms blocks at 100 ms steps, two passes
static double
gated_rms_db(const float* x, uint32_t n)
{
  static double block[MAX_N / 4800];
  uint32_t      n_blocks = 0;
  for (uint32_t at = 0; at + 19200 <= n; at += 4800) {
    double sum = 0.0;
    for (uint32_t i = 0; i < 19200; ++i) {
      sum += (double)x[at + i] * (double)x[at + i];
    }
    block[n_blocks++] = sum / 19200;
  }
  double gate = pow(10.0, -7.0);
  for (int pass = 0; pass < 2; ++pass) {
    double   sum   = 0.0;
    uint32_t count = 0;
    for (uint32_t b = 0; b < n_blocks; ++b) {
      if (block[b] >= gate) {
        sum += block[b];
        ++count;
      }
    }
    if (pass == 1) {
      return 10.0 * log10(sum / count);
    }
    gate = sum / count / 10.0;
  }
  return 0.0;
}

/// Runs frames `at` to `n`; the steepest move of the matched gain is in `slope`
static void
run(uint32_t at, uint32_t n, bool hold, double* slope)
{
  for (; at < n; at += CONTROL_FRAMES) {
    const float* const in[]   = {dry + at};
    const float* const out[]  = {wet + at};
    const double       before = matched.db;
    level_change_control(&levels);
    loudness_match_control(&matched, hold);
    level_change_add(&levels, in, out, CONTROL_FRAMES);
    loudness_match_add(&matched, in, out, CONTROL_FRAMES);
    if (slope) {
      *slope = fmax(*slope, fabs(matched.db - before) / GATED_LEVEL_HOP_S);
    }
  }
}

static void
start(void)
{
  level_change_init(&levels, RATE_HZ, 1);
  loudness_match_init(&matched, RATE_HZ, 1);
}

static void
test_change_is_the_difference_of_gated_levels(void** state)
{
  (void)state;
  judge_riff(dry, MAX_N, 0.4);
  treat(MAX_N, 2.5);
  for (uint32_t n = 48000 * 4; n <= MAX_N; n += 48000 * 9) {
    start();
    run(0, n, false, NULL);
    assert_near(levels.db, gated_rms_db(wet, n) - gated_rms_db(dry, n), 0.1);
  }
}

static void
test_change_of_a_plain_gain(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  for (uint32_t i = 0; i < MAX_N; ++i) {
    wet[i] = 0.5F * dry[i];
  }
  start();
  run(0, 48000, false, NULL);
  assert_near(levels.db, -6.0206, 0.001);
}

static void
test_change_holds_in_silence_and_restarts(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  treat(MAX_N, 2.0);
  // 10 s of sound, then silence in and hiss out, as of a noisy stage
  for (uint32_t i = 480000; i < MAX_N; ++i) {
    wet[i] = 0.1F * dry[i];
    dry[i] = 0.0F;
  }
  start();
  run(0, 480000 + 24000, false, NULL);
  const double before = levels.db;
  run(480000 + 24000, MAX_N, false, NULL);
  assert_true(levels.db == before);
  level_change_restart(&levels);
  assert_true(levels.db == 0.0);
}

static void
test_match_of_steady_noise(void** state)
{
  static const double gains_db[] = {-12.0, 0.0, 12.0};
  (void)state;
  for (int g = 0; g < 3; ++g) {
    fill_noise(MAX_N, -18.0);
    treat(MAX_N, db_to_gain(gains_db[g]));
    start();
    run(0, 48000 * 6, false, NULL);
    // EBU R 128 allows 0.2 LU for the error of a measurement
    const double want =
      libebur128_lufs(wet, 48000 * 6) - libebur128_lufs(dry, 48000 * 6);
    assert_near(matched.db, want, 0.2);
  }
}

static void
test_match_of_a_looped_riff(void** state)
{
  double slope = 0.0;
  (void)state;
  judge_riff(dry, MAX_N, 0.4);
  treat(MAX_N, 3.0);
  const double want = libebur128_lufs(wet, MAX_N) - libebur128_lufs(dry, MAX_N);
  start();
  run(0, 48000 * 12, false, NULL);
  assert_near(matched.db, want, 0.2);
  // After the first setting it moves by half a decibel a second at most
  run(48000 * 12, MAX_N, false, &slope);
  assert_true(slope <= 0.5 + 1e-9);
}

static void
test_match_stands_still_in_silence_and_while_compared(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  treat(MAX_N, 2.0);
  start();
  run(0, 48000 * 6, false, NULL);
  const double before = matched.measured_db; // A comparison begins there

  // Compared: whatever happens to either signal
  for (uint32_t i = 48000 * 6; i < MAX_N; ++i) {
    wet[i] *= 4.0F;
  }
  run(48000 * 6, 48000 * 12, true, NULL);
  assert_true(matched.db == before);

  // Silence
  for (uint32_t i = 48000 * 12; i < MAX_N; ++i) {
    wet[i] = dry[i] = 0.0F;
  }
  run(48000 * 12, 48000 * 12 + 24000, true, NULL);
  run(48000 * 12 + 24000, MAX_N, false, NULL);
  assert_true(matched.db == before);
}

/// The rest of a row may be off meanwhile, so that another signal comes in
static void
test_what_is_compared_does_not_count(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  treat(MAX_N, 2.0);
  start();
  run(0, 48000 * 6, false, NULL);
  const double before = matched.measured_db; // A comparison begins there
  for (uint32_t i = 48000 * 6; i < 48000 * 20; ++i) {
    wet[i] *= 4.0F;
  }
  run(48000 * 6, 48000 * 20, true, NULL);
  run(48000 * 20, MAX_N, false, NULL);
  assert_near(matched.db, before, 0.01);
  assert_near(matched.measured_db, before, 0.05);
}

static void
test_match_is_limited(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  treat(MAX_N, 1e3);
  start();
  run(0, 48000 * 6, false, NULL);
  assert_near(matched.db, 24.0, 1e-9); // As its header says
}

static void
test_match_after_a_change(void** state)
{
  (void)state;
  fill_noise(MAX_N, -18.0);
  treat(MAX_N, 2.0);
  start();
  run(0, 48000 * 6, false, NULL);
  const double before = matched.db;

  // 15 dB down: as soon as there is a block of 400 ms, past the change itself
  for (uint32_t i = 48000 * 6; i < 48000 * 12; ++i) {
    wet[i] *= (float)db_to_gain(-15.0);
  }
  loudness_match_restart(&matched);
  run(48000 * 6, 48000 * 6 + 31200, false, NULL);
  assert_near(matched.db, before - 15.0, 1.0);
  run(48000 * 6 + 31200, 48000 * 12, false, NULL);
  assert_near(matched.db, before - 15.0, 0.2);

  // Up again: not before 3 s have been measured
  loudness_match_restart(&matched);
  run(48000 * 12, 48000 * 12 + 48000 * 27 / 10, false, NULL);
  assert_near(matched.db, before - 15.0, 0.5);
  run(48000 * 12 + 48000 * 27 / 10, 48000 * 16, false, NULL);
  assert_near(matched.db, before, 0.2);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_change_is_the_difference_of_gated_levels),
    cmocka_unit_test(test_change_of_a_plain_gain),
    cmocka_unit_test(test_change_holds_in_silence_and_restarts),
    cmocka_unit_test(test_match_of_steady_noise),
    cmocka_unit_test(test_match_of_a_looped_riff),
    cmocka_unit_test(test_match_stands_still_in_silence_and_while_compared),
    cmocka_unit_test(test_what_is_compared_does_not_count),
    cmocka_unit_test(test_match_is_limited),
    cmocka_unit_test(test_match_after_a_change),
  };
  return cmocka_run_group_tests_name("match", tests, NULL, NULL);
}
