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

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bypass_is_the_input_late_by_the_latency),
    cmocka_unit_test(test_trim_is_plain_gain),
    cmocka_unit_test(test_levels_are_rms_of_400_ms),
  };
  return cmocka_run_group_tests_name("bypass", tests, load, unload);
}
