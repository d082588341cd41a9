// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The matched bypass raises the untreated signal by 24 dB at most
/// (common/level/loudness_match.h), whatever raises the treated one; through
/// the built bundle.

#include "tests/support/judge.h"
#include "tests/support/the_bundle.h"

#define RATE_HZ 48000.0
#define BLOCK   64U
#define LISTEN  JUDGE_RIFF_FRAMES ///< Treated, before the bypass
#define N       (2U * LISTEN)
#define MOST_DB 24.0 // As declared

static float  in_data[2][N], out_data[2][N];
static float* in[2]  = {in_data[0], in_data[1]};
static float* out[2] = {out_data[0], out_data[1]};

static void
play(player* y, uint32_t at, uint32_t to)
{
  for (; at < to; at += BLOCK) {
    player_run(y, in, out, at, to - at < BLOCK ? to - at : BLOCK);
  }
}

/// Soft enough for 48 dB on top, loud enough for the gate of BS.1770
static void
fill_riff(double rms_dbfs)
{
  judge_riff(in[0], N, 1.0);
  const double gain = db_to_gain(rms_dbfs - check_rms_db(in[0], LISTEN));
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = in[1][i] = (float)(gain * (double)in[0][i]);
  }
}

/// Returns the gain in dB of the bypass, after the stage has played with its
/// output trim, and control `symbol` unless NULL, at their highest
static double
bypass_gain_db(const plugin_form* form, const char* symbol)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  y.control[player_port(&y, "trim_db")]      = 24.0F;
  if (symbol) {
    y.control[player_port(&y, symbol)] = 24.0F;
  }
  player_start(&y);
  play(&y, 0, LISTEN);
  y.control[player_port(&y, "enabled")] = 0.0F;
  play(&y, LISTEN, N);
  const uint32_t latency =
    (uint32_t)y.control[player_port(&y, "latency_frames")];
  player_free(&y);
  const uint32_t from = LISTEN + 48000U; // Past the fade
  return check_rms_db(out[0] + from, N - from) -
         check_rms_db(in[0] + from - latency, N - from);
}

static void
check_cap(const plugin_form* form, void* data)
{
  (void)data;
  const double gain_db = bypass_gain_db(form, NULL);
  if (gain_db > MOST_DB + 0.001) {
    fail_msg("%s: the bypass plays %.2f dB up", form->uri, gain_db);
  }
}

static void
test_no_bypass_is_louder(void** state)
{
  (void)state;
  fill_riff(-40.0);
  for_each_form(check_cap, NULL);
}

static void
test_cap_is_reached(void** state)
{
  (void)state;
  fill_riff(-55.0);
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (!strcmp(p->stem, "di-cleanup")) {
      // Some 48 dB louder
      const plugin_form form = shell_form(p, 0);
      assert_near(bypass_gain_db(&form, "gain_db"), MOST_DB, 0.001);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_no_bypass_is_louder),
    cmocka_unit_test(test_cap_is_reached),
  };
  return cmocka_run_group_tests_name("match_cap", tests, load, unload);
}
