// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The gain cell of the input compressor, heard through the stage: static
/// curve, step response, distortion under compression

#include "tests/support/promises.h"

#include "common/stages/input_compressor.h"
#include "compressor_judge.h"

#define RATE_HZ 48000.0
enum { N = 960000 };

static float in[N], out[N], trace[N];

/// The gain cell alone: T = -20 dBFS, ratio 3, knee 3 dB, manual times
static rig
cell_alone(double attack_ms, double release_ms)
{
  rig r = rig_open(&input_compressor_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "threshold_db", -20.0);
  rig_set(&r, "timing", 1.0);
  rig_set(&r, "attack_ms", attack_ms);
  rig_set(&r, "release_ms", release_ms);
  rig_set(&r, "makeup", 1.0);
  rig_set(&r, "edge_pc", 0.0);
  return r;
}

static void
test_static_curve(void** state)
{
  (void)state;

  // Worked out from the curve of Giannoulis, Massberg, Reiss (2012)
  static const double want[][2] = {{-40, 0},      {-26, 0},      {-22, 0},
                                   {-21, 0.0278}, {-20, 0.2500}, {-19, 0.6944},
                                   {-18, 1.3333}, {-16, 2.6667}, {-14, 4.0000},
                                   {-8, 8.0000},  {-2, 12.0000}, {0, 13.3333}};
  rig                 r         = cell_alone(10.0, 200.0);
  for (uint32_t i = 0; i < sizeof(want) / sizeof(want[0]); ++i) {
    const double peak = db_to_gain(want[i][0]);
    check_sine(in, N, 1000.0, peak, RATE_HZ);
    stage_reset(&r.st);
    rig_run(&r, in, out, 96000);
    const double gain = check_tone(out + 72000, 24000, 1000.0, RATE_HZ) / peak;
    assert_near(-gain_to_db(gain), want[i][1], 0.03);
  }
  rig_close(&r);
}

static void
test_no_hysteresis(void** state)
{
  (void)state;

  // Up and down in steps of 2 dB, each held for 3 s and read at its end: with
  // programme times, and a low note
  rig r = cell_alone(10.0, 200.0);
  rig_set(&r, "timing", 0.0);
  double up[21];
  for (int step = 0; step <= 40; ++step) {
    const int    level = step <= 20 ? step : 40 - step;
    const double peak  = db_to_gain(2.0 * level - 40.0);
    check_sine(in, 144000, 82.5, peak, RATE_HZ); // Whole periods
    rig_run(&r, in, out, 144000);
    const double gain = check_tone(out + 120000, 24000, 82.5, RATE_HZ) / peak;
    if (step <= 20) {
      up[level] = gain_to_db(gain);
    } else {
      assert_near(gain_to_db(gain), up[level], 0.05);
    }
  }
  rig_close(&r);
}

static float
reduction_db(const stage* st)
{
  input_compressor_meters m;
  st->ops->meter(st->state, (float*)(void*)&m);
  return m.reduction_db;
}

/// Records the gain reduction per frame of a 2 kHz tone that steps up and,
/// after 2 s, down
static void
record_step(rig* r, double low_dbfs, double high_dbfs)
{
  check_sine(in, N, 2000.0, 1.0, RATE_HZ);
  const double low  = db_to_gain(low_dbfs);
  const double high = db_to_gain(high_dbfs);
  stage_reset(&r->st);
  for (uint32_t i = 0; i < N; ++i) {
    const bool  is_high = i >= 96000 && i < 192000;
    const float x       = in[i] * (float)(is_high ? high : low);
    float       y;
    rig_run(r, &x, &y, 1);
    trace[i] = reduction_db(&r->st);
  }
}

/// Returns the milliseconds from frame `from` until the trace is past `level`
static double
ms_to(uint32_t from, double level)
{
  const bool up = (double)trace[from] < level;
  uint32_t   i  = from;
  while (i < N - 1 && up == ((double)trace[i] < level)) {
    ++i;
  }
  return 1e3 * (i - from) / RATE_HZ;
}

static void
assert_relative(double got, double want, double share)
{
  assert_near(got, want, share * want);
}

static void
test_step_ansi(void** state)
{
  (void)state;

  // The method of ANSI S3.22: a step of 35 dB at 2 kHz; attack until within
  // 3 dB of the steady output, release until within 4 dB.  Times computed for
  // one-poles of 10 and 200 ms: t = tau ln(change / tolerance), the release
  // after the attack.
  rig r = cell_alone(10.0, 200.0);
  record_step(&r, -37.0, -2.0);
  const double change = (double)trace[191999];
  assert_near(change, 12.00, 0.05);
  assert_relative(ms_to(96000, change - 3.0), 13.9, 0.03);
  assert_relative(ms_to(192000, 4.0), 229.9, 0.03);
  rig_close(&r);
}

static void
test_step_iec(void** state)
{
  (void)state;

  // The method of IEC 60118-2: a step of 25 dB, within 2 dB both ways
  rig r = cell_alone(10.0, 200.0);
  record_step(&r, -32.0, -7.0);
  const double change = (double)trace[191999];
  assert_near(change, 8.67, 0.05);
  assert_relative(ms_to(96000, change - 2.0), 14.7, 0.03);
  assert_relative(ms_to(192000, 2.0), 302.7, 0.03);

  // The same record by trace definitions: 63 %, and 10 to 90 % (tau ln 9)
  const double e = exp(-1.0);
  assert_relative(ms_to(96000, change * (1.0 - e)), 10.0, 0.02);
  assert_relative(ms_to(192000, change * e), 210.2, 0.02);
  assert_relative(ms_to(96000, 0.9 * change) - ms_to(96000, 0.1 * change),
                  21.97, 0.02);
  assert_relative(ms_to(192000, 0.1 * change) - ms_to(192000, 0.9 * change),
                  439.9, 0.02);
  rig_close(&r);
}

static void
test_distortion(void** state)
{
  (void)state;

  // 80 Hz at -8 dBFS: a branching smotrace would leave 0.28 and 0.56 % and
  // reduce by 7.35 dB (computed)
  static const struct {
    double attack_ms, release_ms, reduction_db, most_percent;
  } cases[] = {{10, 200, 7.95, 0.045}, {5, 100, 7.91, 0.16}};
  for (uint32_t i = 0; i < 2; ++i) {
    rig          r    = cell_alone(cases[i].attack_ms, cases[i].release_ms);
    const double peak = db_to_gain(-8.0);
    check_sine(in, N, 80.0, peak, RATE_HZ);
    rig_run(&r, in, out, 192000);
    const float* const y   = out + 144000;
    const double       h1  = check_tone(y, 48000, 80.0, RATE_HZ);
    double             sum = 0.0;
    for (uint32_t h = 2; h <= 10; ++h) {
      const double a = check_tone(y, 48000, 80.0 * h, RATE_HZ);
      sum += a * a;
    }
    const double thd = 100.0 * sqrt(sum) / h1;
    print_message("# THD %.4f %%\n", thd);
    assert_true(thd <= cases[i].most_percent);
    assert_near(-gain_to_db(h1 / peak), cases[i].reduction_db, 0.06);
    rig_close(&r);
  }
}

static void
test_edge_of_0_is_linear(void** state)
{
  (void)state;

  // Each output is the delayed input times the gain of its own frame, even in
  // fast attacks, but for what the ripple of the gain makes below the hearing
  rig r = cell_alone(0.1, 10.0);
  promise_bursts(in, 48000, 6);
  const uint32_t latency = r.st.ops->latency_frames(r.st.state);
  for (uint32_t i = 0; i < 48000; ++i) {
    rig_run(&r, in + i, out + i, 1);
    trace[i] = reduction_db(&r.st);
  }
  static double gain[48000], want[48000];
  for (uint32_t i = 0; i < 48000; ++i) {
    gain[i] = db_to_gain(-(double)trace[i]);
  }
  compressor_judge(in, gain, NULL, 0.0, 1.0, latency, RATE_HZ, want, 48000);
  for (uint32_t i = 0; i < 48000; ++i) {
    assert_near((double)out[i], want[i], 2e-6);
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_static_curve),
    cmocka_unit_test(test_no_hysteresis),
    cmocka_unit_test(test_step_ansi),
    cmocka_unit_test(test_step_iec),
    cmocka_unit_test(test_distortion),
    cmocka_unit_test(test_edge_of_0_is_linear),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
