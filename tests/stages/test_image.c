// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stereo image through every track stage, at its defaults and driven hard:
///
/// - equal channels come out as in mono, bit for bit;
/// - a source between left and right stays where it is, within 0.1 dB over any
///   400 ms; at the defaults its louder channel comes out as in mono, to -120
///   dBFS (circuits share their supply, coils their warmth, as sums over both);
/// - channels that differ share one gain: a source within them stays where it
///   is, within 0.1 dB, as long as nothing bends them.  Where a curve does, it
///   bends each channel by what that channel plays, which is all there is to
///   say of them;
/// - left and right are alike: swapped in is swapped out, bit for bit.

#include "tests/support/plucks.h"
#include "tests/support/promises.h"

#include "common/stages/air_shelf.h"
#include "common/stages/di_cleanup.h"
#include "common/stages/input_compressor.h"
#include "common/stages/proximity_lift.h"
#include "common/stages/speaker_breakup.h"
#include "common/stages/thickening_echo.h"
#include "common/stages/tube_stage.h"

enum { M = 48000 * 5, BLOCK = 19200, N_HARD = 3 };

#define IMAGE_DB 0.1

/// A stage driven hard
typedef struct {
  const char*      name;
  const stage_ops* ops;
  const char*      symbol[N_HARD];
  double           value[N_HARD];
  const char*      curve; ///< The control that sets how much is bent, if any
} stage_case;

static const stage_case cases[] = {
  {"di-cleanup", &di_cleanup_ops, {"gain_db", "hum"}, {12, 1}, NULL},
  {"input-compressor",
   &input_compressor_ops,
   {"threshold_db", "ratio", "edge_pc"},
   {-30, 8, 100},
   "edge_pc"},
  {"tube-stage", &tube_stage_ops, {"drive_db", "sag_pc"}, {36, 100}, "-"},
  {"thickening-echo",
   &thickening_echo_ops,
   {"drive_db", "repeats_pc", "wet_db"},
   {24, 80, 0},
   "-"},
  {"speaker-breakup",
   &speaker_breakup_ops,
   {"drive_db", "breakup_db", "mix_pc"},
   {12, 36, 100},
   "-"},
  {"proximity-lift",
   &proximity_lift_ops,
   {"lift_db", "lift_below_db"},
   {12, -12},
   NULL},
  {"air-shelf", &air_shelf_ops, {"air_db", "gentle_pc"}, {12, 100}, NULL},
};
#define N_CASES (sizeof(cases) / sizeof(cases[0]))

static float in[2][M], out[2][M], want[2][M];

static rig
rig_of(const stage_case* c, uint32_t n_channels, bool hard)
{
  rig r = rig_open(c->ops, 48000.0, n_channels, NULL);
  for (int i = 0; i < N_HARD && c->symbol[i] && hard; ++i) {
    *rig_value(&r, c->symbol[i]) = (float)c->value[i];
  }
  return r;
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
  for (uint32_t k = 0; k < N_CASES; ++k) {
    for (uint32_t i = 0; i < 5; ++i) {
      take(PLUCKS_CHORDS, 0.0, in[pans_db[i] < 0.0]);
      check_pan(&cases[k], false, pans_db[i]);
      take(PLUCKS_CHORDS, 12.0, in[pans_db[i] < 0.0]);
      check_pan(&cases[k], true, pans_db[i]);
    }
  }
}

static void
test_equal_channels_are_mono(void** state)
{
  uint32_t seed = 3;
  (void)state;
  take(PLUCKS_RIFF, 6.0, in[0]);
  for (uint32_t k = 0; k < N_CASES; ++k) {
    rig mono   = rig_of(&cases[k], 1, false);
    rig stereo = rig_of(&cases[k], 2, false);
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
  for (uint32_t k = 0; k < N_CASES; ++k) {
    rig r = rig_of(&cases[k], 2, true);
    play(&r, in[0], in[1], want);
    play(&r, in[1], in[0], out);
    assert_memory_equal(out[0], want[1], sizeof(want[0]));
    assert_memory_equal(out[1], want[0], sizeof(want[0]));
    rig_close(&r);
  }
}

#define TONE_HZ 3210.0

/// Level of the tone in `x`, through a Hann window over all of it
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
  for (uint32_t k = 0; k < N_CASES; ++k) {
    const stage_case* const c = &cases[k];
    if (c->curve && !strcmp(c->curve, "-")) {
      continue; // Bends at any setting
    }
    rig r = rig_of(c, 2, true);
    if (c->curve) {
      *rig_value(&r, c->curve) = 0.0F;
    }
    play(&r, in[0], in[1], out);
    const double moved_db = tone_db(out[0]) - tone_db(out[1]) - before_db;
    print_message("# %s moves it by %.3f dB\n", c->name, moved_db);
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
