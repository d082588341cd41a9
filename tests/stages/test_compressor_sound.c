// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Input compressor: make-up and loudness, and the edge

#include "tests/support/plucks.h"
#include "tests/support/promises.h"

#include "common/dynamics/compressor_loudness.h"
#include "common/stages/input_compressor.h"

#define RATE_HZ 48000.0
enum { N = 960000 };

static float in[N], out[N], other[N];

static void
test_makeup_law(void** state)
{
  (void)state;

  // No make-up without compression; more compression, more make-up; never more
  // than the reduction of the loudest part
  for (int t = -60; t <= 0; t += 5) {
    assert_near(compressor_loudness_lu(t, 0.0, 3.0, 0.0), 0.0, 1e-9);
    double last = 0.0;
    for (int ratio = 2; ratio <= 20; ++ratio) {
      const double slope = 1.0 - 1.0 / ratio;
      const double loss  = -compressor_loudness_lu(t, slope, 3.0, 0.0);
      assert_true(loss >= last && loss >= 0.0);
      assert_true(loss <= slope * 60.0);
      assert_true(loss <= -compressor_loudness_lu(t - 5.0, slope, 3.0, 0.0));
      assert_true(loss <= -compressor_loudness_lu(t, slope, 3.0, 1.0) + 1e-9);
      last = loss;
    }
  }
  assert_near(compressor_loudness_lu(0.0, 0.95, 3.0, 0.0), 0.0, 0.01);

  // Deep in compression: slope times the distance of the threshold
  const double deep = compressor_loudness_lu(-50.0, 0.5, 0.0, 0.0) -
                      compressor_loudness_lu(-60.0, 0.5, 0.0, 0.0);
  assert_near(deep, 5.0, 1e-4);
}

/// Returns the change of loudness in LU of the take in `in`
static double
loudness_change(rig* r)
{
  rig_run(r, in, out, N);
  return plucks_level(out, N, true) - plucks_level(in, N, true);
}

static void
test_auto_makeup_keeps_loudness(void** state)
{
  (void)state;

  static const int thresholds[] = {0, -10, -18, -24, -30};
  double           worst        = 0.0;
  for (uint32_t take = 0; take < N_PLUCKS; ++take) {
    plucks_take((plucks)take, in, N);
    rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
    for (uint32_t i = 0; i < 5; ++i) {
      for (int ratio = 2; ratio <= 8; ratio *= 2) {
        rig_set(&r, "threshold_db", thresholds[i]);
        rig_set(&r, "ratio", ratio);
        const double change = loudness_change(&r);
        worst               = fmax(worst, fabs(change));
        assert_near(change, 0.0, 1.0);
      }
    }
    rig_close(&r);
  }
  print_message("# auto make-up: loudness within %.2f LU\n", worst);
}

static void
test_edge_and_blend_keep_loudness(void** state)
{
  (void)state;

  plucks_take(PLUCKS_CHORDS, in, N);
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  for (int pc = 0; pc <= 100; pc += 25) {
    rig_set(&r, "edge_pc", pc);
    assert_near(loudness_change(&r), 0.0, 1.5);
  }
  rig_set(&r, "edge_pc", 35.0);
  rig_set(&r, "threshold_db", -30.0);
  for (int pc = 0; pc <= 100; pc += 25) {
    rig_set(&r, "blend_pc", pc);
    assert_near(loudness_change(&r), 0.0, 1.5);
  }
  rig_close(&r);
}

static void
test_makeup_does_not_adapt(void** state)
{
  (void)state;

  // Far below the threshold the gain is the make-up, whatever was played before
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "edge_pc", 0.0);
  check_sine(in, N, 1000.0, 0.001, RATE_HZ);
  check_sine(in + 480000, 240000, 1000.0, 0.5, RATE_HZ);
  rig_run(&r, in, out, N);
  const double want = -compressor_loudness_lu(-14.0, 1.0 - 1.0 / 3.0, 3.0, 0.0);
  const double early = check_tone(out + 48000, 48000, 1000.0, RATE_HZ);
  const double late  = check_tone(out + N - 48000, 48000, 1000.0, RATE_HZ);
  assert_near(gain_to_db(early / 0.001), want, 0.001);
  assert_near(gain_to_db(late / 0.001), want, 0.02);
  assert_true(want > 1.0);
  rig_close(&r);
}

/// Returns the energy that the edge adds, in dB re that of the output, from
/// frame `at`
static double
added_db(uint32_t at, uint32_t n)
{
  double added = 0.0;
  double all   = 0.0;
  for (uint32_t i = at; i < at + n; ++i) {
    const double d = (double)out[i] - (double)other[i];
    added += d * d;
    all += (double)out[i] * (double)out[i];
  }
  return 10.0 * log10(added / all);
}

static void
test_edge_takes_the_transient(void** state)
{
  (void)state;

  // A note at playing level, -15 dBFS peak, then a pick 11 dB above it
  check_sine(in, N, 440.0, db_to_gain(-15.0), RATE_HZ);
  for (uint32_t i = 96000; i < 144000; ++i) {
    in[i] *= 3.5F;
  }
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "threshold_db", -20.0);
  rig_set(&r, "edge_pc", 0.0);
  rig_run(&r, in, other, 144000);
  rig_set(&r, "edge_pc", 35.0);
  rig_run(&r, in, out, 144000);

  const double h1 = check_tone(out + 72000, 24000, 440.0, RATE_HZ);
  double       h  = 0.0;
  for (uint32_t k = 2; k < 8; ++k) {
    h += pow(check_tone(out + 72000, 24000, 440.0 * k, RATE_HZ), 2.0);
  }
  assert_true(100.0 * sqrt(h) / h1 < 0.8); // Percent

  const uint32_t latency = r.st.ops->latency_frames(r.st.state);
  const double   pick    = added_db(96000 + latency, 144);
  assert_true(pick > added_db(72000, 4800) + 12.0);
  assert_true(pick > added_db(134000, 4800) + 6.0); // The same note, held
  assert_true(pick > -30.0 && pick < -10.0);

  // At 100 % its peak is rounded off by some dB
  rig_set(&r, "edge_pc", 100.0);
  rig_run(&r, in, out, 144000);
  float before = 0.0F;
  float after  = 0.0F;
  for (uint32_t i = 96000; i < 97000; ++i) {
    before = fmaxf(before, fabsf(other[i]));
    after  = fmaxf(after, fabsf(out[i]));
  }
  const double rounded = gain_to_db((double)(before / after));
  print_message("# pick: %.1f dB added, at 100 %% rounded by %.1f dB\n", pick,
                rounded);
  assert_true(rounded > 2.0);
  rig_close(&r);
}

/// Returns HD2 of the edge for a sine of `peak` at its input, by Fourier
/// analysis of the curve
static double
curve_hd2(double peak, double share)
{
  double       h1 = 0.0;
  double       h2 = 0.0;
  const double n  = 1000.0;
  for (uint32_t i = 0; i < 1000; ++i) {
    const double p = 2.0 * DSP_PI * i / n;
    const double x = peak * sin(p);
    const double y = x + share * (pick_edge_curve(x) - x);
    h1 += y * sin(p);
    h2 += y * cos(2.0 * p);
  }
  return fabs(h2 / h1);
}

static double
hd2(const float* y, uint32_t n)
{
  return check_tone(y, n, 2000.0, RATE_HZ) / check_tone(y, n, 1000.0, RATE_HZ);
}

static void
assert_relative(double got, double want, double share)
{
  assert_near(got, want, share * want);
}

static void
test_edge_drive(void** state)
{
  (void)state;

  // At 35 %: a drive of -3.1 dB and 82 % of the difference.  First without
  // compression, then 5 to 15 ms into a slow attack, where some 9.5 dB of the
  // reduction are still to come: 0.15 of drive for each.
  const double drive = db_to_gain(14.0 * 0.35 - 8.0);
  const double share = 1.0 - pow(0.65, 4.0);
  check_sine(in, 96000, 1000.0, 0.5, RATE_HZ);
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "threshold_db", 0.0);
  rig_run(&r, in, out, 96000);
  const double plain = curve_hd2(0.5 * drive, share);
  assert_relative(hd2(out + 48000, 48000), plain, 0.03);

  rig_set(&r, "timing", 1.0);
  rig_set(&r, "attack_ms", 100.0);
  rig_set(&r, "threshold_db", -20.0);
  rig_set(&r, "ratio", 4.0);
  const uint32_t latency = r.st.ops->latency_frames(r.st.state);
  rig_run(&r, in, out, 1000);
  const double target = 0.75 * (gain_to_db(0.5) + 20.0);
  const double now    = target * -expm1(-0.010 / 0.100);
  const double level  = db_to_gain(-compressor_loudness_lu(
     -20.0, 0.75, 3.0, compressor_loudness_peak_offset_db(0.100, 0.200)));
  const double hot =
    drive * level * db_to_gain(-now) * (1.0 + 0.15 * (target - now));
  assert_relative(hd2(out + 240 + latency, 480), curve_hd2(0.5 * hot, share),
                  0.05);
  assert_true(curve_hd2(0.5 * hot, share) > 2.0 * plain);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_makeup_law),
    cmocka_unit_test(test_auto_makeup_keeps_loudness),
    cmocka_unit_test(test_edge_and_blend_keep_loudness),
    cmocka_unit_test(test_makeup_does_not_adapt),
    cmocka_unit_test(test_edge_takes_the_transient),
    cmocka_unit_test(test_edge_drive),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
