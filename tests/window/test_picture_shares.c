// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the tube stage computes, and the figure of shares
/// against level, against closed forms and measurements by another route

#include "picture_rig.h"

#include "common/stages/tube_stage.h"
#include "plugins/window/pictures/shares.h"

#include <string.h>

// ---------------------------------------------------------------------------
// What pictures share

static void
one_percent_is_found(void** state)
{
  float dbfs[SHARES_N];
  float pc[SHARES_N];
  (void)state;
  shares_levels(dbfs);
  assert_near((double)dbfs[0], -48, 1e-6);
  assert_near((double)dbfs[SHARES_N - 1], 0, 1e-6);
  // A second harmonic: as many dB more for each dB, here 1 % at -20.5
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    pc[i] = (float)db_to_gain((double)dbfs[i] + 20.5);
  }
  assert_near(shares_at_one(dbfs, pc), -20.5, 1e-4);
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    pc[i] = 0.5F;
  }
  assert_near(shares_at_one(dbfs, pc), 0, 1e-9);
  pc[0] = 2;
  assert_near(shares_at_one(dbfs, pc), -48, 1e-9);
}

static void
left_out_levels_are_bridged(void** state)
{
  float y[SHARES_N] = {0};
  (void)state;
  for (uint32_t i = 0; i < SHARES_N; i += SHARES_COARSE_STEP) {
    y[i] = 0.1F * exp2f(0.125F * (float)i);
    shares_bridge(y, i, SHARES_COARSE_STEP);
  }
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    const double want = 0.1 * exp2(0.125 * i);
    assert_near((double)y[i], want, 1e-5 * want);
  }
}

static void
more_drive_moves_the_handle_left(void** state)
{
  const chart_area a = shares_area((chart_box){100, 50, 480, 100}, NULL);
  float            dbfs[SHARES_N];
  float            pc[SHARES_N];
  (void)state;
  shares_levels(dbfs);
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    pc[i] = (float)db_to_gain((double)dbfs[i] + 24);
  }
  const param_info* const drive = &tube_stage_ops.params[0];
  const picture_handle    h     = shares_handle(&a, dbfs, pc, 0, drive);
  assert_near(h.x, 340, 1e-3); // -24, the middle
  // 10 px a dB: a drag of 60 dB takes 600, as much as the curve moves
  assert_near(h.across_px, -600, 1e-6);
  assert_int_equal(h.across, 0);
}

// ---------------------------------------------------------------------------
// Tube stage

enum {
  TUBE_N_PHASES = 121,
  TUBE_FRAMES   = 24000,
  TUBE_COUNTED  = 12000, ///< 55 periods of 220 Hz
  TUBE_MOST     = 60,    ///< Harmonics
};

/// Amplitudes and phases (of sines, the first's being 0) of the last
/// TUBE_COUNTED frames of a long sine through the stage itself, without a probe
static void
play_tube(const float* values, double peak, double* amplitude, double* phase)
{
  static float x[TUBE_FRAMES];
  stage        st;
  void* const  s =
    aligned_alloc(STAGE_ALIGNMENT, (tube_stage_ops.size + 15) / 16 * 16);
  assert_non_null(s);
  memset(s, 0, tube_stage_ops.size);
  assert_true(stage_init(&st, &tube_stage_ops, s, PROBE_RATE_HZ, 1));
  stage_set(&st, values);
  stage_reset(&st);
  const double w = 2 * DSP_PI * 220 / PROBE_RATE_HZ;
  for (uint32_t i = 0; i < TUBE_FRAMES; ++i) {
    x[i] = (float)(peak * sin(w * i));
  }
  const float* in[]  = {x};
  float*       out[] = {x};
  stage_process(&st, in, out, 1, TUBE_FRAMES);
  free(s);
  for (uint32_t k = 1; k <= TUBE_MOST; ++k) {
    double re = 0;
    double im = 0;
    for (uint32_t i = TUBE_FRAMES - TUBE_COUNTED; i < TUBE_FRAMES; ++i) {
      re += (double)x[i] * sin(w * k * i);
      im += (double)x[i] * cos(w * k * i);
    }
    amplitude[k] = 2 * hypot(re, im) / TUBE_COUNTED;
    phase[k]     = atan2(im, re) - (k > 1 ? k * phase[1] : 0);
  }
}

static void
tube_harmonics_are_those_of_the_stage(void** state)
{
  tube_stage_params p;
  (void)state;
  defaults_of(&tube_stage_ops, (float*)&p);
  p.drive_db     = 26;
  float* const r = compute("tube-stage", &tube_stage_ops, 1, (float*)&p, false);
  assert_int_equal(picture_of("tube-stage")->parts[1].size,
                   4 * SHARES_N * sizeof(float));
  for (uint32_t i = 3; i < SHARES_N; i += 9) {
    double amplitude[TUBE_MOST + 1];
    double phase[TUBE_MOST + 1];
    double squares = 0;
    play_tube((float*)&p, sqrt(2) * db_to_gain((double)r[i]), amplitude, phase);
    for (uint32_t k = 2; k <= TUBE_MOST; ++k) {
      squares += amplitude[k] * amplitude[k];
    }
    const double all    = 100 * sqrt(squares) / amplitude[1];
    const double second = 100 * amplitude[2] / amplitude[1];
    const double third  = 100 * amplitude[3] / amplitude[1];
    assert_near((double)r[SHARES_N + i], all, 0.005 * all);
    assert_near((double)r[2 * SHARES_N + i], second, 0.005 * all);
    assert_near((double)r[3 * SHARES_N + i], third, 0.005 * all);
  }
  free(r);
}

/// While soft, harmonics are a power series: the 2nd as the level, the 3rd as
/// its square
static void
soft_harmonics_rise_as_powers(void** state)
{
  tube_stage_params p;
  (void)state;
  defaults_of(&tube_stage_ops, (float*)&p);
  float* const r = compute("tube-stage", &tube_stage_ops, 1, (float*)&p, false);
  const float* second = r + 2L * SHARES_N;
  const float* third  = r + 3L * SHARES_N;
  // From -44 to -38, and -32 to -26
  assert_near(gain_to_db((double)(second[10] / second[4])), 6, 0.1);
  assert_near(gain_to_db((double)(third[22] / third[16])), 12, 0.5);
  free(r);
}

static void
dry_tubes_add_nothing(void** state)
{
  float  values[PARAMS_MAX + 1];
  float* r = NULL;
  (void)state;
  defaults_of(&tube_stage_ops, values);
  ((tube_stage_params*)(void*)values)->blend_pc = 0;
  r = compute("tube-stage", &tube_stage_ops, 1, values, false);
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    assert_below((double)r[SHARES_N + i], 1e-3);
  }
  free(r);
  values[tube_stage_n_params] = -20;
  r = compute("tube-stage", &tube_stage_ops, 0, values, false);
  for (uint32_t i = 0; i < TUBE_N_PHASES; ++i) {
    const double want = sin(2 * DSP_PI * (double)r[i]);
    assert_near((double)r[TUBE_N_PHASES + i], want, 1e-6);
    assert_near((double)r[2 * TUBE_N_PHASES + i], want, 2e-3);
    assert_near((double)r[3 * TUBE_N_PHASES + i], want, 2e-3);
  }
  free(r);
}

/// The wave is the sum of its harmonics
static void
tube_waves_are_in_step(void** state)
{
  float values[PARAMS_MAX + 1];
  (void)state;
  defaults_of(&tube_stage_ops, values);
  values[tube_stage_n_params] = -24;
  float* const r = compute("tube-stage", &tube_stage_ops, 0, values, false);
  assert_near((double)r[4 * TUBE_N_PHASES], -24, 1e-6);
  for (uint32_t which = 0; which < 2; ++which) {
    double       amplitude[TUBE_MOST + 1];
    double       phase[TUBE_MOST + 1];
    const double peak  = sqrt(2) * db_to_gain(-24 + 12.0 * which);
    const float* curve = r + (2UL + which) * TUBE_N_PHASES;
    play_tube(values, peak, amplitude, phase);
    for (uint32_t i = 0; i < TUBE_N_PHASES; i += 5) {
      const double at = 2 * DSP_PI * (double)r[i];
      double       y  = amplitude[1] / peak * sin(at);
      for (uint32_t k = 2; k <= TUBE_MOST; ++k) {
        y += amplitude[k] / peak * sin(k * at + phase[k]);
      }
      assert_near((double)curve[i], y, 3e-3);
    }
  }
  free(r);
}

/// While a hand moves: less exact, but near
static void
coarse_shares_are_near(void** state)
{
  tube_stage_params p;
  (void)state;
  defaults_of(&tube_stage_ops, (float*)&p);
  float* const fine =
    compute("tube-stage", &tube_stage_ops, 1, (float*)&p, false);
  float* const coarse =
    compute("tube-stage", &tube_stage_ops, 1, (float*)&p, true);
  for (uint32_t i = 0; i < SHARES_N; i += SHARES_COARSE_STEP) {
    const double want = (double)fine[SHARES_N + i];
    assert_near((double)coarse[SHARES_N + i], want, 0.03 * want);
  }
  free(fine);
  free(coarse);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(one_percent_is_found),
    cmocka_unit_test(left_out_levels_are_bridged),
    cmocka_unit_test(more_drive_moves_the_handle_left),
    cmocka_unit_test(tube_harmonics_are_those_of_the_stage),
    cmocka_unit_test(soft_harmonics_rise_as_powers),
    cmocka_unit_test(dry_tubes_add_nothing),
    cmocka_unit_test(tube_waves_are_in_step),
    cmocka_unit_test(coarse_shares_are_near),
  };
  return cmocka_run_group_tests_name("picture-shares", tests, NULL, NULL);
}
