// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Nothing from a host does harm: odd values, both ends of every range, other
/// rates, bad samples, empty runs.  Over all forms of all plugins, through the
/// built bundle.

#include "tests/support/bundle_play.h"

#include "common/core/denormals.h"

static void
check_unconnected(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  lilv_instance_activate(y.instance); // Without player_start(): no control
  player_play(&y, two.in, two.out, N, 64);
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_unconnected_controls_are_defaults(void** state)
{
  (void)state;
  for_each_form(check_unconnected, NULL);
}

/// The second player gets, for each control, a value that must act as `meant`
static void
check_odd_values(const plugin_form* form,
                 float              odd,
                 float (*meant)(const param_info*))
{
  audio_fill(&one);
  audio_fill(&two);
  player a = player_new(&the_bundle, form, RATE_HZ);
  player b = player_new(&the_bundle, form, RATE_HZ);
  for (uint32_t i = 1; i < a.n_params; ++i) {
    a.control[i] = odd;
    b.control[i] = meant(shell_param(form->plugin, i));
  }
  player_start(&a);
  player_start(&b);
  player_play(&a, one.in, one.out, N, 64);
  player_play(&b, two.in, two.out, N, 64);
  player_free(&a);
  player_free(&b);
  assert_same(&one, &two, form);
}

static float
meant_default(const param_info* p)
{
  return p->def;
}

static float
meant_max(const param_info* p)
{
  return p->max;
}

static float
meant_min(const param_info* p)
{
  return p->min;
}

static void
check_odd(const plugin_form* form, void* data)
{
  (void)data;
  check_odd_values(form, NAN, meant_default);
  check_odd_values(form, INFINITY, meant_max);
  check_odd_values(form, -1e9F, meant_min);
}

static void
test_values_clamp_and_nan_is_the_default(void** state)
{
  (void)state;
  for_each_form(check_odd, NULL);
}

static void
check_extremes_at(const plugin_form* form, double rate_hz)
{
  audio_fill(&one);
  for (uint32_t i = 0; i < shell_param_count(form->plugin); ++i) {
    for (int end = 0; end < 2; ++end) {
      player                  y = player_new(&the_bundle, form, rate_hz);
      const param_info* const p = shell_param(form->plugin, i);
      y.control[i]              = end ? p->max : p->min;
      player_start(&y);
      player_play(&y, one.in, one.out, 4000, 500);
      for (uint32_t k = 0; k < form->n_out; ++k) {
        assert_finite(one.out[k], 4000, p->symbol);
      }
      for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
        assert_finite(&y.control[m], 1, form->uri);
      }
      player_free(&y);
    }
  }
}

static void
check_extremes(const plugin_form* form, void* data)
{
  static const double rates[] = {8000, 44100, 96000, 192000, 384000};
  (void)data;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    check_extremes_at(form, rates[r]);
  }
}

static void
test_both_ends_of_every_range_at_every_rate(void** state)
{
  (void)state;
  for_each_form(check_extremes, NULL);
}

static void
check_rates_refused(const plugin_form* form, void* data)
{
  static const double rates[] = {0.0,   7999.0, 384001.0, -48000.0,
                                 1e300, -1e300, NAN,      INFINITY};
  (void)data;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    assert_null(lilv_plugin_instantiate(bundle_plugin(&the_bundle, form->uri),
                                        rates[r], NULL));
  }
}

static void
test_other_rates_are_refused(void** state)
{
  (void)state;
  for_each_form(check_rates_refused, NULL);
}

static void
check_bad_audio(const plugin_form* form, void* data)
{
  static const float bad[] = {NAN, INFINITY, -INFINITY, 1e30F, -1e30F};
  (void)data;
  for (size_t b = 0; b < sizeof(bad) / sizeof(bad[0]); ++b) {
    audio_fill(&one);
    for (uint32_t i = 1000; i < 1064; ++i) {
      one.in[0][i] = bad[b];
    }
    play_fresh(form, &one, 64, 0);
    for (uint32_t k = 0; k < form->n_out; ++k) {
      assert_finite(one.out[k], N, form->uri);
    }
  }
}

static void
test_bad_samples_do_not_stay(void** state)
{
  (void)state;
  for_each_form(check_bad_audio, NULL);
}

static void
check_empty_run(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
    y.control[m] = NAN;
  }
  player_run(&y, one.in, one.out, 0, 0);
  for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
    const meter_info* const info = shell_meter(form->plugin, m - y.n_params);
    assert_true(y.control[m] >= info->min && y.control[m] <= info->max);
  }
  player_free(&y);
}

static void
test_empty_run_writes_all_meters(void** state)
{
  (void)state;
  for_each_form(check_empty_run, NULL);
}

static void
check_mode(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  const fp_mode before = denormals_flush();
  denormals_restore(before);
  player_play(&y, one.in, one.out, 256, 64);
  const fp_mode after = denormals_flush();
  denormals_restore(after);
  assert_true(before == after);
  player_free(&y);
}

static void
test_denormal_mode_is_left_as_found(void** state)
{
  (void)state;
  for_each_form(check_mode, NULL);
}

/// -200 dBFS is silence; a stage may ring, but not for ever
static void
check_silence(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  memset(one.in_data, 0, sizeof(one.in_data));
  for (int halves = 0; halves < 16; ++halves) { // 8 s
    player_play(&y, one.in, one.out, N, 64);
  }
  player_free(&y);
  for (uint32_t k = 0; k < form->n_out; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      assert_true(fabsf(one.out[k][i]) < 1e-7F);
    }
  }
}

static void
test_silence_follows_silence(void** state)
{
  (void)state;
  for_each_form(check_silence, NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_unconnected_controls_are_defaults),
    cmocka_unit_test(test_values_clamp_and_nan_is_the_default),
    cmocka_unit_test(test_both_ends_of_every_range_at_every_rate),
    cmocka_unit_test(test_other_rates_are_refused),
    cmocka_unit_test(test_bad_samples_do_not_stay),
    cmocka_unit_test(test_empty_run_writes_all_meters),
    cmocka_unit_test(test_denormal_mode_is_left_as_found),
    cmocka_unit_test(test_silence_follows_silence),
  };
  return cmocka_run_group_tests_name("values", tests, load, unload);
}
