// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The meters that windows read beside the common ones: the peak that the
/// compressor's threshold sees, the treble that the air shelf follows, and how
/// much of the playing the alignment has heard

#include "tests/support/aligned_take.h"

#include "common/stages/air_shelf.h"
#include "common/stages/di_cleanup.h"
#include "common/stages/input_compressor.h"

RIG_PARAMS(air_shelf)
RIG_PARAMS(input_compressor)

static const double rates_hz[] = {44100, 48000, 192000};

enum { N_RATES = 3 };

/// Plays a sine, or silence below -200 dBFS; in stereo the right channel is
/// 6 dB softer
static void
play_s(rig* g, double seconds, double f_hz, double peak_dbfs, double rate_hz)
{
  const uint32_t n    = (uint32_t)(seconds * rate_hz);
  const double   peak = peak_dbfs > -200.0 ? db_to_gain(peak_dbfs) : 0.0;
  float*         x    = malloc(n * sizeof(float));
  float*         y    = malloc(n * sizeof(float));
  assert_true(x && y);
  check_sine(x, n, f_hz, peak, rate_hz);
  check_sine(y, n, f_hz, 0.5 * peak, rate_hz);
  const float* in[]  = {x, y};
  float*       out[] = {x, y};
  stage_process(&g->st, in, out, g->n_channels, n);
  free(x);
  free(y);
}

#define SILENCE (-240.0)

// ---------------------------------------------------------------------------
// Input compressor

static double
peak_of(const rig* g)
{
  input_compressor_meters m;
  g->st.ops->meter(g->st.state, (float*)(void*)&m);
  return (double)m.in_peak_db;
}

/// A sine reads its peak with both timings, as the threshold is given; the
/// louder channel counts, and neither make-up nor edge does
static void
test_peak_is_a_sines(void** state)
{
  (void)state;
  static const char* const sets[] = {"timing=0 threshold_db=-30",
                                     "timing=1 threshold_db=-30 edge_pc=100",
                                     "timing=1 ratio=20 makeup=1 makeup_db=24"};
  for (int r = 0; r < N_RATES; ++r) {
    for (uint32_t k = 0; k < 6; ++k) {
      const input_compressor_params v = input_compressor_with(sets[k % 3]);
      rig g = rig_open(&input_compressor_ops, rates_hz[r], 1 + k / 3, &v);
      assert_near(peak_of(&g), -120.0, 1e-6);
      play_s(&g, 0.5, 997.0, -11.0, rates_hz[r]);
      // The power over 5 ms of a sine ripples by 1 / (2 w tau): 0.07 dB
      assert_near(peak_of(&g), -11.0, 0.08);
      rig_close(&g);
    }
  }
}

/// The programme meter's return, 20 dB in 1.7 s (IEC 60268-10, type I; from
/// memory), also while the stage rests; a new stroke shows at once
static void
test_peak_returns(void** state)
{
  (void)state;
  const input_compressor_params v = input_compressor_with("timing=1");
  for (int r = 0; r < N_RATES; ++r) {
    rig g = rig_open(&input_compressor_ops, rates_hz[r], 1, &v);
    play_s(&g, 0.5, 997.0, -6.0, rates_hz[r]);
    play_s(&g, 1.7, 997.0, SILENCE, rates_hz[r]);
    assert_near(peak_of(&g), -26.0, 0.05);
    play_s(&g, 0.002, 997.0, -12.0, rates_hz[r]);
    assert_near(peak_of(&g), -12.0, 0.05);
    play_s(&g, 20.0, 997.0, SILENCE, rates_hz[r]);
    assert_near(peak_of(&g), -120.0, 1e-6);
    rig_close(&g);
  }
}

// ---------------------------------------------------------------------------
// Air shelf

static double
treble_of(const rig* g)
{
  air_shelf_meters m;
  g->st.ops->meter(g->st.state, (float*)(void*)&m);
  return (double)m.treble_db;
}

/// RMS behind a Butterworth high-pass of fourth order at `presence_hz`: -10
/// log10(1 + (fc / f)^8).  The design warps near Nyquist, far above these
/// tones.
static void
test_treble_is_the_bands(void** state)
{
  (void)state;
  static const double    tones_hz[] = {1500, 3000, 6000};
  const air_shelf_params v = air_shelf_with("presence_hz=3000 gentle_pc=50");
  for (int r = 0; r < N_RATES; ++r) {
    for (int k = 0; k < 3; ++k) {
      const double ratio = tan(DSP_PI * 3000.0 / rates_hz[r]) /
                           tan(DSP_PI * tones_hz[k] / rates_hz[r]);
      const double want_db = -10.0 - 3.01 - 10.0 * log10(1.0 + pow(ratio, 8.0));
      for (uint32_t n = 1; n <= 2; ++n) {
        rig g = rig_open(&air_shelf_ops, rates_hz[r], n, &v);
        play_s(&g, 1.0, tones_hz[k], -10.0, rates_hz[r]);
        // Follows the peaks of what ripples by 1 / (2 w 3 ms): 0.08 dB at most
        assert_near(treble_of(&g), want_db, 0.08);
        rig_close(&g);
      }
    }
  }
}

/// At 0 it is not measured and says so; from above 0 on it is
static void
test_treble_needs_gentle(void** state)
{
  (void)state;
  rig g = rig_open(&air_shelf_ops, 48000, 1, NULL);
  play_s(&g, 0.5, 6000.0, -10.0, 48000);
  assert_near(treble_of(&g), -120.0, 1e-6);
  *rig_value(&g, "gentle_pc") = 1.0F;
  stage_set(&g.st, g.values);
  play_s(&g, 0.5, 6000.0, -10.0, 48000);
  assert_near(treble_of(&g), -13.03, 0.05);
  *rig_value(&g, "gentle_pc") = 0.0F;
  stage_set(&g.st, g.values);
  play_s(&g, 0.5, 6000.0, -10.0, 48000);
  assert_near(treble_of(&g), -120.0, 1e-6);
  rig_close(&g);
}

// ---------------------------------------------------------------------------
// DI clean-up

static di_cleanup_meters
align_of(const rig* g)
{
  di_cleanup_meters m;
  g->st.ops->meter(g->st.state, (float*)(void*)&m);
  return m;
}

/// Playing counts, from its first 400 ms on; silence, and what lies 10 dB below
/// the playing (ITU-R BS.1770's gates), does not, and freezes both meters
static void
test_readiness_counts_playing(void** state)
{
  (void)state;
  const double need_s = DI_CLEANUP_PLAYING_S;
  for (int r = 0; r < N_RATES; ++r) {
    rig g = rig_open(&di_cleanup_ops, rates_hz[r], 1, NULL);
    assert_true(align_of(&g).align_ready_pc == 0.0F);
    play_s(&g, 5.0, 600.0, SILENCE, rates_hz[r]);
    assert_true(align_of(&g).align_ready_pc == 0.0F);
    play_s(&g, 0.4 * need_s, 600.0, -25.0, rates_hz[r]);
    assert_near((double)align_of(&g).align_ready_pc, 40.0, 2.0);
    play_s(&g, 1.0, 600.0, SILENCE, rates_hz[r]); // Blocks across its edge
    const di_cleanup_meters before = align_of(&g);
    play_s(&g, 60.0, 600.0, SILENCE, rates_hz[r]);
    play_s(&g, 5.0, 600.0, -80.0, rates_hz[r]); // Noise
    di_cleanup_meters after = align_of(&g);
    assert_memory_equal(&after, &before, sizeof(after));
    play_s(&g, 5.0, 600.0, -40.0, rates_hz[r]);
    assert_near((double)align_of(&g).align_ready_pc,
                (double)before.align_ready_pc, 1.5);
    play_s(&g, 0.7 * need_s, 600.0, -25.0, rates_hz[r]);
    assert_true(align_of(&g).align_ready_pc == 100.0F);
    stage_reset(&g.st);
    after = align_of(&g);
    assert_true(after.align_ready_pc == 0.0F && after.align_db == 0.0F);
    rig_close(&g);
  }
}

/// On each of the demo's takes: once the meter says 100 %, the alignment stays
/// within 0.5 dB of what it is at the end.  The lead plays for less than that.
static void
check_settles(take which)
{
  take_load_of(which);
  rig    g        = rig_open(&di_cleanup_ops, TAKE_RATE_HZ, 1, NULL);
  double least    = 1e9;
  double most     = -1e9;
  double heard_pc = 0.0;
  double align_db = 0.0;
  for (uint32_t at = 0; at + 480 <= n_take; at += 480) {
    rig_run(&g, take_dry + at, take_wet + at, 480);
    const di_cleanup_meters m = align_of(&g);
    heard_pc                  = fmax(heard_pc, (double)m.align_ready_pc);
    align_db                  = (double)m.align_db;
    if (heard_pc >= 100.0) {
      least = fmin(least, align_db);
      most  = fmax(most, align_db);
    }
  }
  rig_close(&g);
  print_message("# take %d: heard %.0f %%, %.2f dB in the end\n", (int)which,
                heard_pc, align_db);
  if (which == TAKE_LEAD) {
    assert_in_range((int)heard_pc, 60, 99);
  } else {
    assert_true(heard_pc == 100.0);
    assert_true(most <= align_db + 0.5 && least >= align_db - 0.5);
  }
  (void)take_unload(NULL);
}

static void
test_alignment_is_settled_when_ready(void** state)
{
  (void)state;
  check_settles(TAKE_RHYTHM_LEFT);
  check_settles(TAKE_RHYTHM_RIGHT);
  check_settles(TAKE_LEAD);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_peak_is_a_sines),
    cmocka_unit_test(test_peak_returns),
    cmocka_unit_test(test_treble_is_the_bands),
    cmocka_unit_test(test_treble_needs_gentle),
    cmocka_unit_test(test_readiness_counts_playing),
    cmocka_unit_test(test_alignment_is_settled_when_ready),
  };
  return cmocka_run_group_tests_name("window meters", tests, NULL, NULL);
}
