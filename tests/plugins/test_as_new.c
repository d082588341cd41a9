// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// As new after a rest: 3 s after a tail has ended every form of every plugin
/// plays the same bits as one that was just activated, whatever it played
/// before and however long the silence, in blocks cut anyhow.  What it has
/// measured is kept.
///
/// AS_NEW_DBFS=1 prints by how much each form misses that, and does not fail.

#include "tests/support/bundle_play.h"
#include "tests/support/settings.h"
#include "tests/support/stage_rows.h"

#include <stdlib.h>

enum {
  PART     = 24000,           ///< Of silence: longer than any echo comes late
  PATIENCE = 120 * 48000,     ///< For the longest tail
  REST     = 3 * 48000 + 1001 ///< After it, on no grid line
};

_Static_assert(PART <= N, "One part at a time");

/// Tails that are long, or that a low gain hides; memory that is deep
typedef struct {
  const char *stem, *settings;
} as_new_row;

static const as_new_row rows[] = {
  {"di-cleanup", "hum=1 pause_db=30 pause_below_db=-30 low_cut_hz=20"},
  {"input-compressor", "timing=1 release_ms=2000 threshold_db=-60 ratio=20"},
  {"input-compressor", "threshold_db=-60 blend_pc=1"},
  {"tube-stage", "sag_pc=100 drive_db=40 stages=2 bias_pc=100 blend_pc=2"},
  {"tube-stage", "blend_pc=0"},
  {"thickening-echo", "wet_db=-59 flutter_pc=1 repeats_pc=90 time_ms=250"},
  {"thickening-echo", "wet_db=6 flutter_pc=1 repeats_pc=60 time_ms=97"},
  {"speaker-breakup", "release_ms=1000 drive_db=24 mix_pc=1"},
  {"speaker-breakup", "mix_pc=0 cabinet=0 quality=2"},
  {"proximity-lift", "lift_db=12 lift_below_db=-12 pattern=5 distance_cm=1"},
  {"air-shelf", "gentle_pc=100 air_db=12"},
  {"plate-send", "wet_db=-59 decay_s=6 low_decay_pc=200 predelay_ms=200"},
  {"plate-send", "wet_db=-40 quality=1 decay_s=6"},
  {"plate-send", "wet_db=-60 dry=1"},
  {"room-send", "wet_db=-59 room=2 decay_pc=200 predelay_ms=100 dry=1"},
  {"bus-tone", "low_cut_hz=20 mono_below_hz=300 width_pc=200"},
  {"bus-leveler", "speed_pc=25 threshold_db=-50 ratio=4 memory=1"},
};

static float  silence[2][N];
static float* quiet_in[] = {silence[0], silence[1]};
static audio  nothing; ///< Its outputs

static bool
take_control(void* to, const char* symbol, float value)
{
  player* const y                    = to;
  y->control[player_port(y, symbol)] = value;
  return true;
}

/// Opens a player; `more` are settings beside the row's
static void
open_player(player* y, const plugin_form* form, const char* settings, int more)
{
  static const char* const all[] = {NULL, "match_bypass=1 trim_db=6",
                                    "enabled=0"};
  *y                             = player_new(&the_bundle, form, RATE_HZ);
  assert_null(settings_apply(settings, take_control, y));
  assert_null(settings_apply(all[more], take_control, y));
  player_start(y);
}

/// Plays in blocks of any length up to `most`
static void
play_odd(player*       y,
         float* const* in,
         float* const* out,
         uint32_t      n,
         uint32_t      most,
         uint32_t      seed)
{
  for (uint32_t at = 0; at < n;) {
    const uint32_t any = (uint32_t)((float)most * fabsf(check_noise(&seed)));
    const uint32_t m   = any < n - at ? any : n - at;
    player_run(y, in, out, at, m);
    at += m;
  }
}

/// Plays `n` frames of silence.  Returns whether the output was all zero.
static bool
pass_silence(player* y, uint32_t n)
{
  bool zero = true;
  for (uint32_t done = 0; done < n; done += PART) {
    const uint32_t m = n - done < PART ? n - done : PART;
    play_odd(y, quiet_in, nothing.out, m, 700, n + done);
    for (uint32_t k = 0; k < y->form.n_out; ++k) {
      for (uint32_t i = 0; i < m; ++i) {
        zero = zero && nothing.out_data[k][i] == 0.0F;
      }
    }
  }
  return zero;
}

static void
rest(player* y)
{
  uint32_t waited = 0;
  while (!pass_silence(y, PART) && waited < PATIENCE) {
    waited += PART;
  }
  if (waited >= PATIENCE && !getenv("AS_NEW_DBFS")) {
    fail_msg("%s: its tail does not end", y->form.uri);
  }
  (void)pass_silence(y, REST);
}

/// Holds `a` against `b`, or prints how far they are apart
static void
judge(const audio* a, const audio* b, const plugin_form* form, const char* what)
{
  if (!getenv("AS_NEW_DBFS")) {
    assert_same(a, b, form);
    return;
  }
  float most = 0.0F;
  for (uint32_t k = 0; k < form->n_out; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      most = fmaxf(most, fabsf(a->out[k][i] - b->out[k][i]));
    }
  }
  print_message("# %s %s: %.1f dBFS\n", form->uri, what,
                gain_to_db((double)most + 1e-30));
}

static void
check_rest(const plugin_form* form, const char* settings, int more)
{
  player y;
  open_player(&y, form, settings, more);
  player_play(&y, one.in, one.out, N, 64);
  rest(&y);
  play_odd(&y, two.in, two.out, N, 500, 3);
  player_free(&y);
  judge(&two, &one, form, settings ? settings : "by default");
}

/// Calls `check` for all rows of a form, and for the stage's own worst
static void
for_each_row(const plugin_form* form,
             void (*check)(const plugin_form*, const char*, int))
{
  const char* const stem = form->plugin->stem;
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    if (!strcmp(rows[i].stem, stem)) {
      check(form, rows[i].settings, 0);
    }
  }
  check(form, stage_row_of(stem)->hardest, 0);
}

static void
check_rests(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  for (int more = 0; more < 3; ++more) {
    check_rest(form, NULL, more);
  }
  for_each_row(form, check_rest);
}

/// A take, silence, the take again: the same bits
static void
test_a_take_again(void** state)
{
  (void)state;
  for_each_form(check_rests, NULL);
}

static void
check_pre_roll(const plugin_form* form, const char* settings, int more)
{
  static const uint32_t silences[] = {0, 1, 17, 100003};
  for (size_t i = 0; i < sizeof(silences) / sizeof(silences[0]); ++i) {
    player y;
    open_player(&y, form, settings, more);
    assert_true(pass_silence(&y, silences[i]));
    if (i == 0) {
      player_play(&y, one.in, one.out, N, 64);
    } else {
      play_odd(&y, two.in, two.out, N, 333, 5 + (uint32_t)i);
      judge(&two, &one, form, "after silence");
    }
    player_free(&y);
  }
}

static void
check_pre_rolls(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  check_pre_roll(form, NULL, 0);
  for_each_row(form, check_pre_roll);
}

/// A new instance does not know how long it waited
static void
test_silence_before(void** state)
{
  (void)state;
  for_each_form(check_pre_rolls, NULL);
}

/// Only the second channel sounds at first: that counts as well
static void
check_one_side(const plugin_form* form, void* data)
{
  (void)data;
  if (form->n_in < 2) {
    return;
  }
  for (int i = 0; i < 2; ++i) {
    audio* const a = i ? &two : &one;
    player       y;
    audio_fill(a);
    memset(a->in[0], 0, 1000 * sizeof(float));
    open_player(&y, form, NULL, 0);
    (void)pass_silence(&y, i ? 4321 : 0);
    play_odd(&y, a->in, a->out, N, 200, 7);
    player_free(&y);
  }
  bool heard = false;
  for (uint32_t i = 0; i < 1000; ++i) {
    heard = heard || one.out[form->n_out - 1][i] != 0.0F;
  }
  assert_true(heard); // Any plugin is faster than that
  judge(&two, &one, form, "one side first");
}

static void
test_either_side_wakes(void** state)
{
  (void)state;
  for_each_form(check_one_side, NULL);
}

/// Controls moved while it stands, `before` frames ahead of the sound
static void
check_moved(const plugin_form* form, uint32_t seed, uint32_t before)
{
  player y;
  open_player(&y, form, NULL, 0);
  player_play(&y, one.in, one.out, N, 64);
  rest(&y);
  player_shuffle(&y, seed + 1U); // On the way, and not seen if all is well
  (void)pass_silence(&y, 5);
  player_shuffle(&y, seed);
  (void)pass_silence(&y, before);
  play_odd(&y, two.in, two.out, N, 500, 11);
  player_free(&y);

  play_fresh(form, &one, 64, seed);
  judge(&two, &one, form, "moved while it stood");
}

static void
check_moves(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  for (uint32_t seed = 1; seed < 7; seed += 2) {
    check_moved(form, seed, 0);
    check_moved(form, seed, 99);
    check_moved(form, seed, 50001);
  }
}

/// ... count as if they had been set before it was activated
static void
test_controls_moved_while_it_stands(void** state)
{
  (void)state;
  for_each_form(check_moves, NULL);
}

/// Full of sound that is not heard, at rest, then heard: `after` are settings
/// for the second take
static void
check_unheard(const plugin_form* form,
              double             rate_hz,
              const char*        before,
              const char*        after)
{
  for (int i = 0; i < 2; ++i) {
    audio* const a = i ? &two : &one;
    player       y = player_new(&the_bundle, form, rate_hz);
    assert_null(settings_apply(before, take_control, &y));
    assert_null(settings_apply(i ? NULL : after, take_control, &y));
    player_start(&y);
    if (i) {
      player_play(&y, two.in, nothing.out, N, 64);
      (void)pass_silence(&y, N); // What does not go the unheard way
      assert_true(pass_silence(&y, (uint32_t)(3.0 * rate_hz) + 77U));
      assert_null(settings_apply(after, take_control, &y));
    }
    play_odd(&y, a->in, a->out, N, 500, 13);
    player_free(&y);
  }
  judge(&two, &one, form, after);
}

static void
check_hidden(const plugin_form* form, void* data)
{
  const char* const stem = form->plugin->stem;
  audio_fill(&one);
  audio_fill(&two);
  check_unheard(form, RATE_HZ, "enabled=0", "enabled=1");
  if (!strcmp(stem, "thickening-echo") || form->plugin->forms == FORMS_SEND) {
    const double* const rate_hz = data;
    for (uint32_t i = 0; i < 3; ++i) {
      check_unheard(form, rate_hz[i], "wet_db=-60", "wet_db=0");
    }
  }
}

/// A tail behind a gain of 0, or behind the bypass, is cleared like others, at
/// any rate
static void
test_unheard_tails(void** state)
{
  static double rates_hz[] = {DSP_MIN_RATE_HZ, 44100.0, DSP_MAX_RATE_HZ};
  (void)state;
  for_each_form(check_hidden, rates_hz);
}

static float
meter(const player* y, const char* symbol)
{
  return y->control[player_port(y, symbol)];
}

static void
check_meters(const plugin_form* form, void* data)
{
  player y;
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  const bool aligns = !strcmp(form->plugin->stem, "di-cleanup");
  open_player(&y, form, NULL, 0);
  player_play(&y, one.in, one.out, N, 64);
  (void)pass_silence(&y, PART);
  const float change_db = meter(&y, "change_db");
  const float align_db  = aligns ? meter(&y, "align_db") : 0.0F;
  assert_true(fabsf(change_db) > 0.001F);
  rest(&y);
  (void)pass_silence(&y, REST);
  assert_true(meter(&y, "change_db") == change_db);
  assert_true(meter(&y, "in_db") < -100.0F);
  assert_true(!aligns || meter(&y, "align_db") == align_db);
  assert_true(!aligns || align_db != 0.0F);
  player_play(&y, two.in, two.out, 64, 64); // Not 100 ms yet
  assert_true(meter(&y, "change_db") == change_db);
  player_free(&y);
}

/// What was measured stays
static void
test_meters_are_kept(void** state)
{
  (void)state;
  for_each_form(check_meters, NULL);
}

/// Gain of a bypass from input to output, in the loudest frame of the first
/// 1000 from `at` on
static double
bypass_gain(const player* y, const audio* a, uint32_t at)
{
  const uint32_t late = (uint32_t)meter(y, "latency_frames");
  uint32_t       most = at;
  for (uint32_t i = at; i < at + 1000; ++i) {
    most = fabsf(a->in[0][i]) > fabsf(a->in[0][most]) ? i : most;
  }
  return (double)a->out[0][most + late] / (double)a->in[0][most];
}

/// The gain of a matched bypass does not start again from none
static void
test_match_is_kept(void** state)
{
  (void)state;
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const plugin_form form = shell_form(p, 0);
    player            y;
    audio_fill(&one);
    audio_fill(&two);
    open_player(&y, &form, NULL, 1);
    for (int i = 0; i < 6; ++i) {
      player_play(&y, one.in, one.out, N, 64);
    }
    y.control[player_port(&y, "enabled")] = 0.0F;
    player_play(&y, one.in, one.out, N, 64);
    const double before = bypass_gain(&y, &one, N * 3 / 4);
    assert_true(fabs(gain_to_db(before)) > 0.5);
    rest(&y);
    player_play(&y, two.in, two.out, N, 64);
    const double after = bypass_gain(&y, &two, 0);
    if (!(fabs(gain_to_db(after / before)) < 0.1)) {
      fail_msg("%s: %.2f dB before, %.2f after", form.uri, gain_to_db(before),
               gain_to_db(after));
    }
    player_free(&y);
  }
}

static int
load_silence(void** state)
{
  audio_fill(&nothing);
  return load(state);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_take_again),
    cmocka_unit_test(test_silence_before),
    cmocka_unit_test(test_either_side_wakes),
    cmocka_unit_test(test_controls_moved_while_it_stands),
    cmocka_unit_test(test_unheard_tails),
    cmocka_unit_test(test_meters_are_kept),
    cmocka_unit_test(test_match_is_kept),
  };
  return cmocka_run_group_tests_name("as new", tests, load_silence, unload);
}
