// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stage: exact and aligned paths, latency, linked channels, and the
/// promises of every stage

#include "tests/support/promises.h"

#include "common/dynamics/compressor_loudness.h"
#include "common/stages/input_compressor.h"
#include "compressor_judge.h"

#define RATE_HZ 48000.0
enum { N = 96000 };

static float in[N], out[N], other[N];

static void
test_exact_paths(void** state)
{
  (void)state;

  // Only delay: with a blend of 0, and with nothing to do
  static const char* const names[] = {"blend_pc", "ratio"};
  static const double      to[]    = {0.0, 1.0};
  promise_bursts(in, N, 5);
  for (uint32_t k = 0; k < 2; ++k) {
    rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
    if (k == 1) {
      rig_set(&r, "edge_pc", 0.0);
    }
    rig_set(&r, names[k], to[k]);
    const uint32_t latency = r.st.ops->latency_frames(r.st.state);
    rig_run(&r, in, out, N);
    for (uint32_t i = 0; i < latency; ++i) {
      assert_true(out[i] == 0.0F);
    }
    assert_memory_equal(out + latency, in, (N - latency) * sizeof(float));
    rig_close(&r);
  }
}

static void
test_paths_are_aligned(void** state)
{
  (void)state;

  // The judge is put together from the parts, on whole arrays, with plain
  // shifts
  enum { M = 24000 };
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "threshold_db", -30.0);
  rig_set(&r, "blend_pc", 60.0);
  promise_bursts(in, M, 8);
  rig_run(&r, in, out, M);

  static float reduction[M], lack[M], hot[M], diff[M];
  const double level =
    -compressor_loudness_lu(-30.0, 1.0 - 1.0 / 3.0, 3.0, 0.0);
  const double drive = db_to_gain(14.0 * 0.35 - 8.0 + level);
  gain_cell    cell  = {0};
  pick_edge    e     = {0};
  gain_cell_init(&cell, RATE_HZ, 1);
  gain_cell_set(&cell, &(gain_cell_settings){
                         -30.0, 1.0 - 1.0 / 3.0, 3.0, true, {0.01, 0.2}});
  gain_cell_reset(&cell);
  pick_edge_init(&e, RATE_HZ);
  for (uint32_t i = 0; i < M; i += CONTROL_FRAMES) {
    const float* const at = in + i;
    gain_cell_control(&cell);
    gain_cell_run(&cell, &at, reduction + i, lack + i, CONTROL_FRAMES);
    for (uint32_t k = i; k < i + CONTROL_FRAMES; ++k) {
      const double hard = drive * (1.0 + 0.15 * (double)lack[k]);
      hot[k] =
        (float)((double)in[k] * db_to_gain(-(double)reduction[k]) * hard);
    }
    pick_edge_process(&e, hot + i, diff + i, CONTROL_FRAMES);
  }

  const uint32_t latency = r.st.ops->latency_frames(r.st.state);
  const double   share   = 1.0 - pow(0.65, 4.0);
  const double   wet     = 0.6 * db_to_gain(level);
  static double  gain[M], edge[M], want[M];
  for (uint32_t i = 0; i < M; ++i) {
    const double hard = drive * (1.0 + 0.15 * (double)lack[i]);
    gain[i]           = db_to_gain(-(double)reduction[i]);
    edge[i] =
      i + latency < M ? wet * share * (double)diff[i + latency] / hard : 0.0;
  }
  compressor_judge(in, gain, edge, 0.4, wet, latency, RATE_HZ, want, M);
  for (uint32_t i = 0; i < M; ++i) {
    assert_near((double)out[i], want[i], 1e-5);
  }
  rig_close(&r);
}

static void
test_latency(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < sizeof(promise_rates) / sizeof(double); ++i) {
    const double   rate = promise_rates[i];
    rig            r    = rig_open(&input_compressor_ops, rate, 1, NULL);
    const uint32_t want = r.st.ops->latency_frames(r.st.state);
    memset(in, 0, 1000 * sizeof(float));
    in[0] = 0.01F;
    rig_run(&r, in, out, 1000);
    uint32_t at = 0;
    for (uint32_t k = 0; k < 1000; ++k) {
      at = fabsf(out[k]) > fabsf(out[at]) ? k : at;
    }
    assert_int_equal(at, want);
    assert_true(rate < 176400.0 || want == 0);
    rig_close(&r);
  }
}

static void
test_promises(void** state)
{
  (void)state;

  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  rig_set(&r, "timing", 1.0);
  promise_any_blocks(&r, NULL);
  promise_finite(&input_compressor_ops, 2);
  promise_finite_held(&input_compressor_ops, 2);
  rig_close(&r);
}

static void
test_linked(void** state)
{
  (void)state;

  // The quiet channel is turned down with the loud one, whichever that is
  static float a[96000], b[96000];
  rig          r = rig_open(&input_compressor_ops, RATE_HZ, 2, NULL);
  rig_set(&r, "makeup", 1.0);
  rig_set(&r, "edge_pc", 0.0);
  for (uint32_t loud = 0; loud < 2; ++loud) {
    check_sine(loud ? b : a, 96000, 2000.0, 1.0, RATE_HZ);
    check_sine(loud ? a : b, 96000, 1000.0, 0.01, RATE_HZ);
    const float* const ins[]  = {a, b};
    float* const       outs[] = {out, other};
    stage_reset(&r.st);
    stage_process(&r.st, ins, outs, 2, 96000);
    const float* const l = (loud ? other : out) + 48000;
    const float* const q = (loud ? out : other) + 48000;
    const double loud_db = gain_to_db(check_tone(l, 48000, 2000.0, RATE_HZ));
    const double quiet_db =
      gain_to_db(check_tone(q, 48000, 1000.0, RATE_HZ) / 0.01);
    assert_near(loud_db, -14.0 * 2.0 / 3.0, 0.1);
    assert_near(quiet_db, loud_db, 0.02);
  }
  rig_close(&r);
}

static void
test_no_click(void** state)
{
  (void)state;

  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  promise_no_click(&r);
  *rig_value(&r, "threshold_db") = -40.0F;
  *rig_value(&r, "ratio")        = 8.0F;
  promise_no_click(&r);
  *rig_value(&r, "timing") = 1.0F;
  *rig_value(&r, "makeup") = 1.0F;
  promise_no_click(&r);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_exact_paths),
    cmocka_unit_test(test_paths_are_aligned),
    cmocka_unit_test(test_latency),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_linked),
    cmocka_unit_test(test_no_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
