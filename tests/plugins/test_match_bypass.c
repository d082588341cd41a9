// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The level-matched bypass and the level change of every plugin while a guitar
/// plays and settings change, through the built bundle.  libebur128 and gating
/// computed here over the whole signal are the judges.

#include "tests/support/judge.h"
#include "tests/support/the_bundle.h"

#include "plugins/bypass.h"

#define RATE_HZ 48000.0
#define BLOCK   64U
#define LOOP    JUDGE_RIFF_FRAMES
#define LISTEN  (3U * LOOP) ///< Treated
#define N       (5U * LOOP)

static float  in_data[2][N], out_data[2][N];
static float* in[2]  = {in_data[0], in_data[1]};
static float* out[2] = {out_data[0], out_data[1]};

/// Makes the riff on both channels, at -18 dBFS RMS
static void
fill_riff(void)
{
  judge_riff(in[0], N, 1.0);
  const double gain = db_to_gain(-18.0 - check_rms_db(in[0], LOOP));
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = in[1][i] = (float)(gain * (double)in[0][i]);
  }
}

static int
load_and_fill(void** state)
{
  (void)load(state);
  fill_riff();
  return 0;
}

/// Returns the loudness of output frames `from` to `to`
static double
heard_lufs(uint32_t n_channels, uint32_t from, uint32_t to)
{
  const float* const heard[] = {out[0], out[1]};
  return judge_lufs(heard, n_channels, from, to);
}

/// Plays from `at` to `to`
static void
play(player* y, uint32_t at, uint32_t to)
{
  for (; at < to; at += BLOCK) {
    player_run(y, in, out, at, to - at < BLOCK ? to - at : BLOCK);
  }
}

static void
check_riff(const plugin_form* form, void* data)
{
  (void)data;
  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  player_start(&y);
  play(&y, 0, LISTEN);
  y.control[player_port(&y, "enabled")] = 0.0F;
  play(&y, LISTEN, N);
  player_free(&y);

  // The same two rounds of the loop
  const double treated   = heard_lufs(form->n_out, LOOP, LISTEN);
  const double untreated = heard_lufs(form->n_out, LISTEN, N);
  if (fabs(untreated - treated) > 0.2) {
    fail_msg("%s: bypass is %.2f LU louder", form->uri, untreated - treated);
  }
}

static void
test_a_looped_riff_is_matched_after_12_s(void** state)
{
  (void)state;
  for_each_form(check_riff, NULL);
}

/// Returns the gain of the bypass over the input in frames `from` to `to`;
/// fails if it moves
static double
still_gain_db(uint32_t latency, uint32_t from, uint32_t to, const char* uri)
{
  double least = 1e9, most = 0.0;
  for (uint32_t i = from; i < to; ++i) {
    const double x = (double)in[0][i - latency];
    if (fabs(x) > 0.05) {
      const double gain = (double)out[0][i] / x;
      least             = fmin(least, gain);
      most              = fmax(most, gain);
    }
  }
  if (most - least > 1e-6 * most) {
    fail_msg("%s: the gain moves from %g to %g", uri, least, most);
  }
  return gain_to_db(most);
}

static void
check_visits(const plugin_form* form, void* data)
{
  (void)data;
  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  player_start(&y);
  float* const enabled = &y.control[player_port(&y, "enabled")];
  play(&y, 0, LOOP);
  const uint32_t latency =
    (uint32_t)y.control[player_port(&y, "latency_frames")];
  *enabled = 0.0F;
  play(&y, LOOP, 2 * LOOP);
  *enabled = 1.0F;
  play(&y, 2 * LOOP, 2 * LOOP + 48000); // Moves by 0.5 dB at most
  *enabled = 0.0F;
  play(&y, 2 * LOOP + 48000, 3 * LOOP);
  player_free(&y);

  // Past the fade, and past a gain that still moves at the switch
  const double first = still_gain_db(latency, LOOP + 9600, 2 * LOOP, form->uri);
  const double second =
    still_gain_db(latency, 2 * LOOP + 57600, 3 * LOOP, form->uri);
  if (fabs(second - first) > 0.55) {
    fail_msg("%s: %.2f dB, then %.2f dB", form->uri, first, second);
  }
}

static void
test_the_gain_stands_still_while_compared(void** state)
{
  (void)state;
  for_each_form(check_visits, NULL);
}

/// Plays 4 s, makes the stage 15 dB softer, and bypasses it `data` frames later
static void
check_softer(const plugin_form* form, const char* symbol, uint32_t wait)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  float* const softer = &y.control[player_port(&y, symbol)];
  *softer             = 9.0F;
  player_start(&y);
  play(&y, 0, LOOP);
  *softer = -6.0F;
  play(&y, LOOP, LOOP + wait);
  y.control[player_port(&y, "enabled")] = 0.0F;
  play(&y, LOOP + wait, 2 * LOOP);
  y.control[player_port(&y, "enabled")] = 1.0F;
  play(&y, 2 * LOOP, 3 * LOOP);
  player_free(&y);
  // 100 ms for the control to arrive
  const uint32_t from      = wait + 4800;
  const double   untreated = heard_lufs(form->n_out, LOOP + from, 2 * LOOP);
  const double   treated   = heard_lufs(form->n_out, 2 * LOOP + from, 3 * LOOP);
  if (untreated > treated + 1.0) {
    fail_msg("%s: %s leaves the bypass %.2f LU louder", form->uri, symbol,
             untreated - treated);
  }
}

static void
check_trim(const plugin_form* form, void* data)
{
  (void)data;
  check_softer(form, "trim_db", BLOCK); // Known, so at once
}

static void
test_a_softer_setting_never_makes_the_bypass_jump_out(void** state)
{
  (void)state;
  for_each_form(check_trim, NULL);
  const plugin* p = NULL;
  uint32_t      n = 0;
  while ((p = shell_plugin(n)) && strcmp(p->stem, "di-cleanup") != 0) {
    ++n;
  }
  assert_non_null(p);
  const plugin_form form = shell_form(p, 0);
  check_softer(&form, "gain_db", 48000 * 8 / 10); // Must be measured first
}

/// Returns the gated RMS by the book: all 400 ms blocks at 100 ms steps, two
/// passes
static double
gated_rms_db(float* const* x, uint32_t n_channels, uint32_t from, uint32_t to)
{
  static double block[N / 4800];
  uint32_t      n_blocks = 0;
  for (uint32_t at = from; at + 19200 <= to; at += 4800) {
    double sum = 0.0;
    for (uint32_t k = 0; k < n_channels; ++k) {
      for (uint32_t i = 0; i < 19200; ++i) {
        sum += (double)x[k][at + i] * (double)x[k][at + i];
      }
    }
    block[n_blocks++] = sum / 19200 / n_channels;
  }
  double gate = 1e-7;
  double mean = 0.0;
  for (int pass = 0; pass < 2; ++pass) {
    double   sum   = 0.0;
    uint32_t count = 0;
    for (uint32_t b = 0; b < n_blocks; ++b) {
      if (block[b] >= gate) {
        sum += block[b];
        ++count;
      }
    }
    mean = sum / count;
    gate = mean / 10.0;
  }
  return 10.0 * log10(mean);
}

static void
check_change(const plugin_form* form, void* data)
{
  (void)data;
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  const uint32_t change = player_port(&y, "change_db");
  play(&y, 0, LOOP);
  y.control[player_port(&y, "trim_db")] = -7.0F; // Restarts the meter
  play(&y, LOOP, LOOP + BLOCK);
  assert_true(y.control[change] == 0.0F);
  play(&y, LOOP + BLOCK, N);
  const double want = gated_rms_db(out, form->n_out, LOOP, N) -
                      gated_rms_db(in, form->n_out, LOOP, N);
  if (fabs((double)y.control[change] - want) > 0.1) {
    fail_msg("%s: change_db is %.2f, not %.2f", form->uri,
             (double)y.control[change], want);
  }
  player_free(&y);
}

static void
test_change_of_a_riff_since_the_last_setting(void** state)
{
  (void)state;
  for_each_form(check_change, NULL);
}

static void
test_meters_run_only_while_matching(void** state)
{
  static bypass      b;
  float              x[CONTROL_FRAMES] = {0.5F, -0.5F};
  const float* const dry[]             = {x};
  (void)state;
  bypass_init(&b, RATE_HZ, 1);
  for (int matching = 0; matching < 2; ++matching) {
    bypass_set(&b, true, matching);
    bypass_control(&b, 0.0);
    bypass_listen(&b, dry, dry, CONTROL_FRAMES);
    assert_true((b.matched.dry.sum > 0.0) == matching);
    assert_true((b.matched.wet.sum > 0.0) == matching);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_looped_riff_is_matched_after_12_s),
    cmocka_unit_test(test_the_gain_stands_still_while_compared),
    cmocka_unit_test(test_a_softer_setting_never_makes_the_bypass_jump_out),
    cmocka_unit_test(test_change_of_a_riff_since_the_last_setting),
    cmocka_unit_test(test_meters_run_only_while_matching),
  };
  return cmocka_run_group_tests_name("match_bypass", tests, load_and_fill,
                                     unload);
}
