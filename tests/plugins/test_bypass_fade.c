// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// From treated to untreated and back, in every form of every plugin: in 10 ms,
/// without a click, exact from there on, whatever the host's blocks

#include "tests/support/bundle_play.h"
#include "tests/support/click.h"

#include "plugins/bypass.h"

#define FADE_FRAMES 480U ///< 10 ms

/// Plays `a` in blocks of `block` and switches at each place, off first
static void
play_switched(const plugin_form* form,
              audio*             a,
              const uint32_t*    places,
              uint32_t           n_places,
              uint32_t           block)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  for (uint32_t at = 0, i = 0; at < N;) {
    if (i < n_places && at == places[i]) {
      y.control[0] = i++ % 2 ? 1.0F : 0.0F;
    }
    const uint32_t end = i < n_places ? places[i] : N;
    const uint32_t n   = end - at < block ? end - at : block;
    player_run(&y, a->in, a->out, at, n);
    at += n;
  }
  player_free(&y);
}

static void
assert_same_frames(const float* got,
                   const float* want,
                   uint32_t     from,
                   uint32_t     to,
                   const char*  uri)
{
  for (uint32_t i = from; i < to; ++i) {
    if (memcmp(got + i, want + i, sizeof(float)) != 0) {
      fail_msg("%s: frame %u is %.9g, not %.9g", uri, i, (double)got[i],
               (double)want[i]);
    }
  }
}

static void
check_fade(const plugin_form* form, void* data)
{
  static float dry[N];
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  const uint32_t places[] = {3001, 9007};
  play_fresh(form, &one, 64, 0);
  play_switched(form, &two, places, 2, 333);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, 64, 64);
  const uint32_t late = (uint32_t)y.control[player_port(&y, "latency_frames")];
  player_free(&y);
  play_fresh(form, &one, 64, 0);

  for (uint32_t k = 0; k < form->n_out; ++k) {
    const float* const in = one.in[k < form->n_in ? k : 0];
    for (uint32_t i = 0; i < N; ++i) {
      dry[i] = i < late ? 0.0F : in[i - late];
    }
    const uint32_t off = places[0], on = places[1];
    assert_same_frames(two.out[k], one.out[k], 0, off, form->uri);
    assert_same_frames(two.out[k], dry, off + FADE_FRAMES - 1, on, form->uri);
    assert_same_frames(two.out[k], one.out[k], on + FADE_FRAMES - 1, N,
                       form->uri);
    // Half-way it is in the middle of both
    const uint32_t mid = off + FADE_FRAMES / 2 - 1;
    assert_near((double)two.out[k][mid],
                0.5 * ((double)dry[mid] + (double)one.out[k][mid]), 1e-6);
  }
}

static void
test_bypass_fades_in_10_ms_and_is_exact_from_there(void** state)
{
  (void)state;
  assert_near(BYPASS_FADE_S, 0.010, 0.0);
  for_each_form(check_fade, NULL);
}

static void
check_switched_blocks(const plugin_form* form, void* data)
{
  // The second is off again before it is on, the fourth in mid-fade
  static const uint32_t places[] = {3001, 9007, 9100, 9411, 9633, 15000};
  static const uint32_t blocks[] = {1, 7, 64, 333};
  (void)data;
  audio_fill(&one);
  play_switched(form, &one, places, 6, 4096);
  for (uint32_t b = 0; b < sizeof(blocks) / sizeof(blocks[0]); ++b) {
    audio_fill(&two);
    play_switched(form, &two, places, 6, blocks[b]);
    assert_same(&two, &one, form);
  }
}

static void
test_any_blocks_between_switches_give_the_same(void** state)
{
  (void)state;
  for_each_form(check_switched_blocks, NULL);
}

/// Returns the peak above 4 kHz, past the start of the sine
static double
residue_above_4_khz(const float* x)
{
  static double y[N];
  for (uint32_t i = 0; i < N; ++i) {
    y[i] = (double)x[i];
  }
  click_high_pass(y, N, CLICK_EDGE_HZ, RATE_HZ);
  return db_to_gain(click_peak_db(y + 2000, N - 2000));
}

/// Switches every `data` frames
static void
check_switch(const plugin_form* form, void* data)
{
  const uint32_t each = *(const uint32_t*)data;
  audio_fill(&one);
  for (uint32_t k = 0; k < 2; ++k) {
    check_sine(one.in[k], N, 220.0, 0.178, RATE_HZ); // -18 dBFS RMS
  }

  // The stage itself, on and off, sets the limit above 4 kHz
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  const double on = residue_above_4_khz(one.out[0]);

  lilv_instance_deactivate(y.instance);
  lilv_instance_activate(y.instance);
  for (uint32_t at = 0; at < N; at += 100) {
    y.control[0] = at / each % 2 == 0;
    player_run(&y, one.in, one.out, at, 100);
  }
  player_free(&y);
  const double switched = residue_above_4_khz(one.out[0]);
  if (switched > on + 1e-4) { // -80 dBFS
    fail_msg("%s: switching leaves %.1f dBFS above 4 kHz", form->uri,
             gain_to_db(switched));
  }
}

static void
test_bypass_does_not_click(void** state)
{
  uint32_t slow = 6000, fast = 300; // The latter turns back in mid-fade
  (void)state;
  for_each_form(check_switch, &slow);
  for_each_form(check_switch, &fast);
}

/// Returns the residue above 4 kHz of a bypassed sine while the stage's latency
/// changes from 40 frames to others, one after `each` frames
static double
turn_residue_db(uint32_t n_turns, uint32_t each)
{
  static bypass         b;
  static double         y[N];
  static const uint32_t latencies[] = {43, 37, 44, 40};
  static const uint32_t first       = 4001;
  uint32_t              turned      = 0;
  memset(&b, 0, sizeof(b));
  bypass_init(&b, RATE_HZ, 1);
  bypass_set(&b, false, false);
  bypass_reset(&b, 40);
  for (uint32_t i = 0; i < N; i += CONTROL_FRAMES) {
    float        x[CONTROL_FRAMES], dry[CONTROL_FRAMES];
    const float* in[]  = {x};
    float*       out[] = {dry};
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      x[j] = (float)(0.178 * sin(2.0 * DSP_PI * 220.0 / RATE_HZ * (i + j)));
    }
    while (turned < n_turns && i >= first + turned * each) {
      bypass_follow(&b, latencies[turned++]);
    }
    bypass_control(&b, 0.0);
    bypass_delay(&b, in, out, CONTROL_FRAMES);
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      y[i + j] = (double)dry[j];
    }
  }
  assert_int_equal(turned, n_turns);
  assert_int_equal(b.latency, latencies[n_turns - 1]);
  // It has arrived: exact from here on
  assert_int_equal(b.to, b.latency);
  assert_false(crossfade_runs(&b.turn));
  click_high_pass(y, N, CLICK_EDGE_HZ, RATE_HZ);
  return click_peak_db(y + 2000, N - 2000);
}

static void
test_latency_that_changes_again_does_not_click(void** state)
{
  (void)state;
  const double one_db = turn_residue_db(1, 0);
  print_message("# one change: %.1f dBFS above 4 kHz\n", one_db);
  assert_true(one_db < -100.0);
  for (uint32_t each = 32; each < 1500; each += 96) {
    const double db = turn_residue_db(4, each);
    if (db > fmax(one_db, -100.0)) {
      fail_msg("a change each %u frames: %.1f dBFS above 4 kHz", each, db);
    }
  }
}

/// Returns the residue of a sine that a fade turns on, and off again after
/// `turn` frames
static double
fade_residue_db(uint32_t turn, double phase)
{
  static double y[N];
  fade          f = {0};
  fade_init(&f, BYPASS_FADE_S, RATE_HZ);
  fade_snap(&f, 0.0);
  for (uint32_t i = 0; i < N; ++i) {
    float    share = (float)f.target;
    uint32_t ways  = 0;
    if (i == 4000 || i == 4000 + turn) {
      fade_aim(&f, i == 4000 ? 1.0 : 0.0);
    }
    if (!fade_rests(&f)) {
      ways = fade_values(&f, &share, 1);
    }
    share = ways ? share : (float)f.target;
    assert_true(share >= 0.0F && share <= 1.0F);
    y[i] = (double)share * 0.178 *
           sin(2.0 * DSP_PI * CLICK_SINE_HZ / RATE_HZ * i + phase);
  }
  click_high_pass(y, N, CLICK_EDGE_HZ, RATE_HZ);
  return click_peak_db(y, N);
}

static void
test_the_fade_itself_leaves_nothing(void** state)
{
  double worst_db = -300.0;
  (void)state;
  for (uint32_t turn = 1; turn < 3 * FADE_FRAMES / 2; turn += 7) {
    worst_db = fmax(worst_db, fade_residue_db(turn, 0.3 * turn));
  }
  print_message("# worst %.1f dBFS above 4 kHz\n", worst_db);
  assert_true(worst_db < -120.0); // 40 dB under the limit for all controls
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bypass_fades_in_10_ms_and_is_exact_from_there),
    cmocka_unit_test(test_any_blocks_between_switches_give_the_same),
    cmocka_unit_test(test_bypass_does_not_click),
    cmocka_unit_test(test_the_fade_itself_leaves_nothing),
    cmocka_unit_test(test_latency_that_changes_again_does_not_click),
  };
  return cmocka_run_group_tests_name("bypass_fade", tests, load, unload);
}
