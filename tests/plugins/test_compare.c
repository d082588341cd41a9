// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The level-matched bypass and the level change of every plugin, through the
/// built bundle, judged by libebur128

#include "tests/support/judge.h"
#include "tests/support/the_bundle.h"

#define RATE_HZ 48000.0
#define BLOCK   64U
#define LISTEN  (48000U * 6U) ///< Treated
#define COMPARE (48000U * 4U) ///< Untreated
#define N       (LISTEN + COMPARE)

static float  in_data[2][N], out_data[2][N];
static float* in[2]  = {in_data[0], in_data[1]};
static float* out[2] = {out_data[0], out_data[1]};

static int
load_and_fill(void** state)
{
  uint32_t seed = 11;
  (void)load(state);
  // Steady noise, darkened as music is, at -18 dBFS RMS
  for (int k = 0; k < 2; ++k) {
    double y = 0.0;
    for (uint32_t i = 0; i < N; ++i) {
      y += 0.1 * ((double)check_noise(&seed) - y);
      in[k][i] = (float)y;
    }
    const double gain = db_to_gain(-18.0 - check_rms_db(in[k], N));
    for (uint32_t i = 0; i < N; ++i) {
      in[k][i] = (float)(gain * (double)in[k][i]);
    }
  }
  return 0;
}

/// Returns the loudness of output frames `from` to `to`
static double
heard_lufs(uint32_t n_channels, uint32_t from, uint32_t to)
{
  const float* const heard[] = {out[0], out[1]};
  return judge_lufs(heard, n_channels, from, to);
}

/// The same of what comes in: one channel comes to both sides
static double
played_lufs(const plugin_form* form, uint32_t from, uint32_t to)
{
  const float* const played[] = {in[0], in[form->n_in - 1]};
  return judge_lufs(played, form->n_out, from, to);
}

static void
check_matched(const plugin_form* form, void* data)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  (void)data;
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  y.control[player_port(&y, "trim_db")]      = 7.0F;
  player_start(&y);
  for (uint32_t at = 0; at < N; at += BLOCK) {
    y.control[player_port(&y, "enabled")] = at < LISTEN;
    player_run(&y, in, out, at, BLOCK);
  }
  const double match_db = (double)y.control[player_port(&y, "match_db")];
  player_free(&y);

  // Past the fade and the filters' start
  const double treated   = heard_lufs(form->n_out, 24000, LISTEN);
  const double untreated = heard_lufs(form->n_out, LISTEN + 12000, N);
  assert_near(untreated, treated, 0.2); // EBU R 128's allowance
  assert_near(match_db, treated - played_lufs(form, 24000, LISTEN), 0.1);

  // No jump above the treated signal on the way
  const double fade = heard_lufs(form->n_out, LISTEN - 9600, LISTEN + 12000);
  assert_true(fade < treated + 1.0);
}

static void
test_bypass_is_as_loud_as_the_treatment(void** state)
{
  (void)state;
  for_each_form(check_matched, NULL);
}

static void
check_treated(const plugin_form* form, void* data)
{
  static float plain[2][N];
  (void)data;
  for (int matching = 0; matching < 2; ++matching) {
    player y = player_new(&the_bundle, form, RATE_HZ);
    y.control[player_port(&y, "match_bypass")] = (float)matching;
    player_start(&y);
    player_play(&y, in, out, LISTEN, BLOCK);
    const float match_db = y.control[player_port(&y, "match_db")];
    assert_true(matching || match_db == 0.0F); // Off, it says nothing
    player_free(&y);
    if (!matching) {
      memcpy(plain, out_data, sizeof(plain));
    }
  }
  for (uint32_t k = 0; k < form->n_out; ++k) {
    assert_memory_equal(plain[k], out[k], LISTEN * sizeof(float));
  }
}

static void
test_matching_never_touches_the_treated_signal(void** state)
{
  (void)state;
  for_each_form(check_treated, NULL);
}

static void
check_change(const plugin_form* form, void* data)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  (void)data;
  player_start(&y);
  player_play(&y, in, out, LISTEN, BLOCK);
  double power[2] = {0.0, 0.0};
  for (uint32_t k = 0; k < form->n_out; ++k) {
    const uint32_t j = k < form->n_in ? k : 0;
    power[0] += pow(10.0, check_rms_db(in[j], LISTEN) / 10.0);
    power[1] += pow(10.0, check_rms_db(out[k], LISTEN) / 10.0);
  }
  // Steady noise passes every gate, so plain RMS is the judge
  assert_near((double)y.control[player_port(&y, "change_db")],
              10.0 * log10(power[1] / power[0]), 0.1);
  player_free(&y);
}

static void
test_change_is_output_minus_input(void** state)
{
  (void)state;
  for_each_form(check_change, NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bypass_is_as_loud_as_the_treatment),
    cmocka_unit_test(test_matching_never_touches_the_treated_signal),
    cmocka_unit_test(test_change_is_output_minus_input),
  };
  return cmocka_run_group_tests_name("compare", tests, load_and_fill, unload);
}
