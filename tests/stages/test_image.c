// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stereo image through every track stage, at its defaults and driven hard:
///
/// - equal channels come out as in mono, bit for bit;
/// - a source between left and right stays where it is, within 0.1 dB over any
///   400 ms; at the defaults its louder channel comes out as in mono, to -120
///   dBFS (circuits share their supply, coils their warmth, as sums over both);
/// - channels that differ share one gain: a source within them stays where it
///   is, within 0.1 dB, unless a curve bends them.  A curve bends each channel
///   by its own signal, so nothing is held there;
/// - left and right are alike: swapped in is swapped out, bit for bit.

#include "tests/support/plucks.h"
#include "tests/support/promises.h"
#include "tests/support/stage_rows.h"

#include "plugins/shell.h"

enum { M = 48000 * 5, BLOCK = 19200 };

#define IMAGE_DB 0.1

/// A track stage, and how it is driven hard
typedef struct {
  const char*      name;
  const stage_ops* ops;
  const stage_row* row;
} stage_case;

/// Finds track stage `k`; false beyond the last
static bool
find_case(uint32_t k, stage_case* c)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (p->forms == FORMS_TRACK && k-- == 0) {
      *c = (stage_case){p->stem, p->ops, stage_row_of(p->stem)};
      assert_non_null(c->row);
      return true;
    }
  }
  return false;
}

static float in[2][M], out[2][M], want[2][M];

static rig
rig_of(const stage_case* c, uint32_t n_channels, bool hard)
{
  float values[RIG_MAX_PARAMS];
  rig_values(c->ops, hard ? c->row->driven : NULL, values);
  return rig_open(c->ops, 48000.0, n_channels, values);
}

static void
play(rig* r, const float* left, const float* right, float (*to)[M])
{
  const float* const from[] = {left, right};
  float* const       bus[]  = {to[0], to[1]};
  stage_set(&r->st, r->values);
  stage_reset(&r->st);
  stage_process(&r->st, from, bus, right ? 2 : 1, M);
}

static double
power_db(const float* x, uint32_t n)
{
  double sum = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    sum += (double)x[i] * (double)x[i];
  }
  return 10.0 * log10(sum / n + 1e-30);
}

static void
scale(const float* x, double gain, float* y)
{
  for (uint32_t i = 0; i < M; ++i) {
    y[i] = (float)(gain * (double)x[i]);
  }
}

/// A take at -18 dBFS RMS, `level_db` louder; before it the noise of a DI alone
static void
take(plucks what, double level_db, float* x)
{
  uint32_t seed = 5;
  for (uint32_t i = 0; i < BLOCK; ++i) {
    x[i] = 1e-4F * check_noise(&seed);
  }
  plucks_render(what, x + BLOCK, M - BLOCK);
  scale(x, db_to_gain(level_db), x);
}

static void
check_pan(const stage_case* c, bool hard, double pan_db)
{
  const uint32_t loud   = pan_db < 0.0 ? 1 : 0;
  rig            mono   = rig_of(c, 1, hard);
  rig            stereo = rig_of(c, 2, hard);
  scale(in[loud], db_to_gain(-fabs(pan_db)), in[1 - loud]);
  play(&mono, in[loud], NULL, want);
  play(&stereo, in[0], in[1], out);
  for (uint32_t i = 0; i < M && !hard; ++i) {
    assert_near((double)out[loud][i], (double)want[0][i], 1e-6);
  }
  for (uint32_t at = 0; at + BLOCK <= M; at += BLOCK) {
    const double left  = power_db(out[0] + at, BLOCK);
    const double right = power_db(out[1] + at, BLOCK);
    if (fabs(left - right - pan_db) > IMAGE_DB) {
      fail_msg("%s (%s): %.1f dB come out as %.2f dB at frame %u", c->name,
               hard ? "hard" : "defaults", pan_db, left - right, at);
    }
  }
  rig_close(&mono);
  rig_close(&stereo);
}

static void
test_a_source_between_the_channels_stays_there(void** state)
{
  static const double pans_db[] = {0.0, 3.0, -6.0, 12.0, -20.0};
  (void)state;
  stage_case c;
  for (uint32_t k = 0; find_case(k, &c); ++k) {
    for (uint32_t i = 0; i < 5; ++i) {
      take(PLUCKS_CHORDS, 0.0, in[pans_db[i] < 0.0]);
      check_pan(&c, false, pans_db[i]);
      take(PLUCKS_CHORDS, 12.0, in[pans_db[i] < 0.0]);
      check_pan(&c, true, pans_db[i]);
    }
  }
}

static void
test_equal_channels_are_mono(void** state)
{
  uint32_t seed = 3;
  (void)state;
  take(PLUCKS_RIFF, 6.0, in[0]);
  stage_case c;
  for (uint32_t k = 0; find_case(k, &c); ++k) {
    rig mono   = rig_of(&c, 1, false);
    rig stereo = rig_of(&c, 2, false);
    for (uint32_t i = 0; i < 3; ++i) {
      promise_random_values(&mono, &seed);
      memcpy(stereo.values, mono.values, sizeof(mono.values));
      play(&mono, in[0], NULL, want);
      play(&stereo, in[0], in[0], out);
      assert_memory_equal(out[0], want[0], sizeof(want[0]));
      assert_memory_equal(out[1], want[0], sizeof(want[0]));
    }
    rig_close(&mono);
    rig_close(&stereo);
  }
}

static void
test_swapped_in_is_swapped_out(void** state)
{
  (void)state;
  take(PLUCKS_RIFF, 6.0, in[0]);
  take(PLUCKS_LEAD, 0.0, in[1]);
  stage_case c;
  for (uint32_t k = 0; find_case(k, &c); ++k) {
    rig r = rig_of(&c, 2, true);
    play(&r, in[0], in[1], want);
    play(&r, in[1], in[0], out);
    assert_memory_equal(out[0], want[1], sizeof(want[0]));
    assert_memory_equal(out[1], want[0], sizeof(want[0]));
    rig_close(&r);
  }
}

#define TONE_HZ 3210.0

/// Returns the level of the tone in `x`, through a Hann window over all of it
static double
tone_db(const float* x)
{
  double re = 0.0, im = 0.0;
  for (uint32_t i = 0; i < M; ++i) {
    const double w     = 1.0 - cos(2.0 * DSP_PI * i / M);
    const double phase = 2.0 * DSP_PI * TONE_HZ / 48000.0 * i;
    re += w * (double)x[i] * cos(phase);
    im += w * (double)x[i] * sin(phase);
  }
  return 10.0 * log10(re * re + im * im);
}

static void
test_differing_channels_share_one_gain(void** state)
{
  (void)state;
  take(PLUCKS_RIFF, 6.0, in[0]);
  take(PLUCKS_LEAD, 0.0, in[1]);
  for (uint32_t i = 0; i < M; ++i) {
    const double tone = 0.05 * sin(2.0 * DSP_PI * TONE_HZ / 48000.0 * i);
    in[0][i] += (float)tone;
    in[1][i] += (float)(0.5 * tone);
  }
  const double before_db = tone_db(in[0]) - tone_db(in[1]);
  assert_near(before_db, 6.02, 0.1);
  stage_case c;
  for (uint32_t k = 0; find_case(k, &c); ++k) {
    if (c.row->curve && !strcmp(c.row->curve, "-")) {
      continue; // Bends at any setting
    }
    rig r = rig_of(&c, 2, true);
    if (c.row->curve) {
      *rig_value(&r, c.row->curve) = 0.0F;
    }
    play(&r, in[0], in[1], out);
    const double moved_db = tone_db(out[0]) - tone_db(out[1]) - before_db;
    print_message("# %s moves it by %.3f dB\n", c.name, moved_db);
    assert_near(moved_db, 0.0, IMAGE_DB);
    rig_close(&r);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_source_between_the_channels_stays_there),
    cmocka_unit_test(test_equal_channels_are_mono),
    cmocka_unit_test(test_swapped_in_is_swapped_out),
    cmocka_unit_test(test_differing_channels_share_one_gain),
  };
  return cmocka_run_group_tests_name("image", tests, NULL, NULL);
}
