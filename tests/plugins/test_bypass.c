// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The shell around every stage: bypass at the true latency, trim, levels. Over
/// all forms of all plugins, through the built bundle.

#include "tests/support/bundle_play.h"

static void
check_bypass(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&y, 5);
  y.control[player_port(&y, "enabled")] = 0.0F;
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  const uint32_t latency =
    (uint32_t)y.control[player_port(&y, "latency_frames")];
  player_free(&y);

  for (uint32_t k = 0; k < form->n_out; ++k) {
    const float* const in = one.in[k < form->n_in ? k : 0];
    for (uint32_t i = 0; i < N; ++i) {
      const float want = i < latency ? 0.0F : in[i - latency];
      assert_memory_equal(&one.out[k][i], &want, sizeof(float));
    }
  }
}

static void
test_bypass_is_the_input_late_by_the_latency(void** state)
{
  (void)state;
  for_each_form(check_bypass, NULL);
}

static void
check_trim(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "trim_db")] = -6.0F;
  player_start(&y);
  player_play(&y, two.in, two.out, N, 64);
  player_free(&y);
  const double step = check_rms_db(two.out[0], N) - check_rms_db(one.out[0], N);
  assert_near(step, -6.0, 1e-3);
}

static void
test_trim_is_plain_gain(void** state)
{
  (void)state;
  for_each_form(check_trim, NULL);
}

static void
check_level(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  for (uint32_t k = 0; k < 2; ++k) {
    check_sine(one.in[k], N, 1000.0, 0.5, RATE_HZ);
  }
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  // A sine of peak a has the RMS a / sqrt(2)
  assert_near((double)y.control[player_port(&y, "in_db")],
              gain_to_db(0.5 / sqrt(2.0)), 0.02);
  // 19200 frames are 400 ms, in whole periods; the window is a bin shorter.
  // Over both outputs, which may differ.
  double power = 0.0;
  for (uint32_t k = 0; k < form->n_out; ++k) {
    const double rms = db_to_gain(check_rms_db(one.out[k] + N - 19200, 19200));
    power += rms * rms / form->n_out;
  }
  assert_near((double)y.control[player_port(&y, "out_db")],
              gain_to_db(sqrt(power)), 0.1);
  player_free(&y);
}

static void
test_levels_are_rms_of_400_ms(void** state)
{
  (void)state;
  for_each_form(check_level, NULL);
}

/// Whether `n` frames from `at` on renew the meters: they leave no NaN there
static bool
renews(player* y, uint32_t at, uint32_t n)
{
  const uint32_t end = y->n_params + y->n_meters;
  for (uint32_t m = y->n_params; m < end; ++m) {
    y->control[m] = NAN;
  }
  player_run(y, one.in, one.out, at, n);
  uint32_t renewed = 0;
  for (uint32_t m = y->n_params; m < end; ++m) {
    renewed += isnan(y->control[m]) ? 0U : 1U;
  }
  assert_true(renewed == 0 || renewed == y->n_meters);
  return renewed != 0;
}

static void
check_renewal(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  assert_true(renews(&y, 0, 64)); // At the start

  uint32_t old  = 0; // Frames since the last renewal
  uint32_t kept = 0; // Blocks without one
  for (uint32_t at = 64; at < N / 2; at += 64) {
    const bool renewed = renews(&y, at, 64);
    old                = renewed ? 0 : old + 64;
    kept += renewed ? 0 : 1;
    assert_true(old <= 480); // 10 ms, the grid lines of a bin
  }
  assert_true(kept > 150); // Six in seven of 186

  // A control that moves is answered at once
  for (uint32_t at = N / 2, i = 0; i < 8; at += 64, ++i) {
    y.control[player_port(&y, "enabled")] = (float)(i % 2);
    assert_true(renews(&y, at, 64));
  }
  player_free(&y);
}

static void
test_meters_are_at_most_10_ms_old(void** state)
{
  (void)state;
  for_each_form(check_renewal, NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bypass_is_the_input_late_by_the_latency),
    cmocka_unit_test(test_trim_is_plain_gain),
    cmocka_unit_test(test_levels_are_rms_of_400_ms),
    cmocka_unit_test(test_meters_are_at_most_10_ms_old),
  };
  return cmocka_run_group_tests_name("bypass", tests, load, unload);
}
