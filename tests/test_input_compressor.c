// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stage: static curve, step response, distortion under compression,
/// make-up, edge, exact paths, and the promises of every stage

#include "plucks.h"
#include "promises.h"

#include "common/playing.h"
#include "common/stages/input_compressor.h"

#define RATE_HZ 48000.0
enum { N = 960000 };

static float in[N], out[N], other[N];

/// The gain cell alone: T = -20 dBFS, ratio 3, knee 3 dB, manual times
static promise_rig
cell_alone(double attack_ms, double release_ms)
{
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_set(&r, "threshold_db", -20.0);
  promise_set(&r, "timing", 1.0);
  promise_set(&r, "attack_ms", attack_ms);
  promise_set(&r, "release_ms", release_ms);
  promise_set(&r, "makeup", 1.0);
  promise_set(&r, "edge_pc", 0.0);
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
  promise_rig         r         = cell_alone(10.0, 200.0);
  for (uint32_t i = 0; i < sizeof(want) / sizeof(want[0]); ++i) {
    const double peak = db_to_gain(want[i][0]);
    check_sine(in, N, 1000.0, peak, RATE_HZ);
    stage_reset(&r.st);
    promise_run(&r, in, out, 96000);
    const double gain = check_tone(out + 72000, 24000, 1000.0, RATE_HZ) / peak;
    assert_near(-gain_to_db(gain), want[i][1], 0.03);
  }
  promise_rig_free(&r);
}

static void
test_no_hysteresis(void** state)
{
  (void)state;

  // Up and down in steps of 2 dB, each held for 3 s and read at its end: with
  // programme times, and a low note
  promise_rig r = cell_alone(10.0, 200.0);
  promise_set(&r, "timing", 0.0);
  double up[21];
  for (int step = 0; step <= 40; ++step) {
    const int    level = step <= 20 ? step : 40 - step;
    const double peak  = db_to_gain(2.0 * level - 40.0);
    check_sine(in, 144000, 82.5, peak, RATE_HZ); // Whole periods
    promise_run(&r, in, out, 144000);
    const double gain = check_tone(out + 120000, 24000, 82.5, RATE_HZ) / peak;
    if (step <= 20) {
      up[level] = gain_to_db(gain);
    } else {
      assert_near(gain_to_db(gain), up[level], 0.05);
    }
  }
  promise_rig_free(&r);
}

/// Gain reduction per frame of a 2 kHz tone that steps up and, after 2 s, down
static void
record_step(promise_rig* r, double low_dbfs, double high_dbfs, float* trace)
{
  check_sine(in, N, 2000.0, 1.0, RATE_HZ);
  const double low  = db_to_gain(low_dbfs);
  const double high = db_to_gain(high_dbfs);
  stage_reset(&r->st);
  for (uint32_t i = 0; i < N; ++i) {
    const bool  is_high = i >= 96000 && i < 192000;
    const float x       = in[i] * (float)(is_high ? high : low);
    float       y;
    promise_run(r, &x, &y, 1);
    r->st.ops->meter(r->state, &trace[i]);
  }
}

/// Milliseconds from frame `from` until the trace is past `level`
static double
ms_to(const float* trace, uint32_t from, double level)
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
  // behind the attack.
  promise_rig r = cell_alone(10.0, 200.0);
  record_step(&r, -37.0, -2.0, other);
  const double change = (double)other[191999];
  assert_near(change, 12.00, 0.05);
  assert_relative(ms_to(other, 96000, change - 3.0), 13.9, 0.03);
  assert_relative(ms_to(other, 192000, 4.0), 229.9, 0.03);
  promise_rig_free(&r);
}

static void
test_step_iec(void** state)
{
  (void)state;

  // The method of IEC 60118-2: a step of 25 dB, within 2 dB both ways
  promise_rig r = cell_alone(10.0, 200.0);
  record_step(&r, -32.0, -7.0, other);
  const double change = (double)other[191999];
  assert_near(change, 8.67, 0.05);
  assert_relative(ms_to(other, 96000, change - 2.0), 14.7, 0.03);
  assert_relative(ms_to(other, 192000, 2.0), 302.7, 0.03);

  // The same record by other definitions: 63 %, and 10 to 90 % (tau ln 9)
  const double e = exp(-1.0);
  assert_relative(ms_to(other, 96000, change * (1.0 - e)), 10.0, 0.02);
  assert_relative(ms_to(other, 192000, change * e), 210.2, 0.02);
  assert_relative(ms_to(other, 96000, 0.9 * change) -
                    ms_to(other, 96000, 0.1 * change),
                  21.97, 0.02);
  assert_relative(ms_to(other, 192000, 0.1 * change) -
                    ms_to(other, 192000, 0.9 * change),
                  439.9, 0.02);
  promise_rig_free(&r);
}

static void
test_distortion(void** state)
{
  (void)state;

  // 80 Hz at -8 dBFS: a branching smoother would leave 0.28 and 0.56 % and
  // reduce by 7.35 dB (computed)
  static const struct {
    double attack_ms, release_ms, reduction_db, most_percent;
  } cases[] = {{10, 200, 7.95, 0.045}, {5, 100, 7.91, 0.16}};
  for (uint32_t i = 0; i < 2; ++i) {
    promise_rig  r    = cell_alone(cases[i].attack_ms, cases[i].release_ms);
    const double peak = db_to_gain(-8.0);
    check_sine(in, N, 80.0, peak, RATE_HZ);
    promise_run(&r, in, out, 192000);
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
    promise_rig_free(&r);
  }
}

static void
test_makeup_law(void** state)
{
  (void)state;

  // Nothing to make up without compression; more of it, more to make up; never
  // more than the curve takes from the loudest part
  for (int t = -60; t <= 0; t += 5) {
    assert_near(playing_loss_db(t, 0.0, 3.0, 0.0), 0.0, 1e-9);
    double last = 0.0;
    for (int ratio = 2; ratio <= 20; ++ratio) {
      const double slope = 1.0 - 1.0 / ratio;
      const double loss  = playing_loss_db(t, slope, 3.0, 0.0);
      assert_true(loss >= last && loss >= 0.0);
      assert_true(loss <= slope * 60.0);
      assert_true(loss <= playing_loss_db(t - 5.0, slope, 3.0, 0.0));
      assert_true(loss <= playing_loss_db(t, slope, 3.0, 1.0) + 1e-9);
      last = loss;
    }
  }
  assert_near(playing_loss_db(0.0, 0.95, 3.0, 0.0), 0.0, 0.01);

  // Deep in compression: slope times the distance of the threshold
  const double deep = playing_loss_db(-60.0, 0.5, 0.0, 0.0) -
                      playing_loss_db(-50.0, 0.5, 0.0, 0.0);
  assert_near(deep, 5.0, 1e-4);
}

/// Change of loudness in LU of the take in `in`
static double
loudness_change(promise_rig* r)
{
  promise_run(r, in, out, N);
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
    promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
    for (uint32_t i = 0; i < 5; ++i) {
      for (int ratio = 2; ratio <= 8; ratio *= 2) {
        promise_set(&r, "threshold_db", thresholds[i]);
        promise_set(&r, "ratio", ratio);
        const double change = loudness_change(&r);
        worst               = fmax(worst, fabs(change));
        assert_near(change, 0.0, 1.0);
      }
    }
    promise_rig_free(&r);
  }
  print_message("# auto make-up: loudness within %.2f LU\n", worst);
}

static void
test_edge_and_blend_keep_loudness(void** state)
{
  (void)state;

  plucks_take(PLUCKS_CHORDS, in, N);
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  for (int pc = 0; pc <= 100; pc += 25) {
    promise_set(&r, "edge_pc", pc);
    assert_near(loudness_change(&r), 0.0, 1.5);
  }
  promise_set(&r, "edge_pc", 35.0);
  promise_set(&r, "threshold_db", -30.0);
  for (int pc = 0; pc <= 100; pc += 25) {
    promise_set(&r, "blend_pc", pc);
    assert_near(loudness_change(&r), 0.0, 1.5);
  }
  promise_rig_free(&r);
}

static void
test_makeup_does_not_adapt(void** state)
{
  (void)state;

  // Far below the threshold the gain is the make-up, whatever was played before
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_set(&r, "edge_pc", 0.0);
  check_sine(in, N, 1000.0, 0.001, RATE_HZ);
  check_sine(in + 480000, 240000, 1000.0, 0.5, RATE_HZ);
  promise_run(&r, in, out, N);
  const double want  = playing_loss_db(-14.0, 1.0 - 1.0 / 3.0, 3.0, 0.0);
  const double early = check_tone(out + 48000, 48000, 1000.0, RATE_HZ);
  const double late  = check_tone(out + N - 48000, 48000, 1000.0, RATE_HZ);
  assert_near(gain_to_db(early / 0.001), want, 0.001);
  assert_near(gain_to_db(late / 0.001), want, 0.02);
  assert_true(want > 1.0);
  promise_rig_free(&r);
}

/// Energy of what the edge adds, re that of the output, in dB, from frame `at`
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
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_set(&r, "threshold_db", -20.0);
  promise_set(&r, "edge_pc", 0.0);
  promise_run(&r, in, other, 144000);
  promise_set(&r, "edge_pc", 35.0);
  promise_run(&r, in, out, 144000);

  const double h1 = check_tone(out + 72000, 24000, 440.0, RATE_HZ);
  double       h  = 0.0;
  for (uint32_t k = 2; k < 8; ++k) {
    h += pow(check_tone(out + 72000, 24000, 440.0 * k, RATE_HZ), 2.0);
  }
  assert_true(100.0 * sqrt(h) / h1 < 0.8); // Percent

  const uint32_t latency = r.st.ops->latency_frames(r.state);
  const double   pick    = added_db(96000 + latency, 144);
  assert_true(pick > added_db(72000, 4800) + 12.0);
  assert_true(pick > added_db(134000, 4800) + 6.0); // The same note, held
  assert_true(pick > -30.0 && pick < -10.0);

  // At 100 % its peak is rounded off by some dB
  promise_set(&r, "edge_pc", 100.0);
  promise_run(&r, in, out, 144000);
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
  promise_rig_free(&r);
}

static void
test_exact_paths(void** state)
{
  (void)state;

  // Delay, and nothing else: with a blend of 0, and with nothing to do
  static const char* const names[] = {"blend_pc", "ratio"};
  static const double      to[]    = {0.0, 1.0};
  promise_bursts(in, N, 5);
  for (uint32_t k = 0; k < 2; ++k) {
    promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
    if (k == 1) {
      promise_set(&r, "edge_pc", 0.0);
    }
    promise_set(&r, names[k], to[k]);
    const uint32_t latency = r.st.ops->latency_frames(r.state);
    promise_run(&r, in, out, N);
    for (uint32_t i = 0; i < latency; ++i) {
      assert_true(out[i] == 0.0F);
    }
    assert_memory_equal(out + latency, in, (N - latency) * sizeof(float));
    promise_rig_free(&r);
  }
}

static void
test_edge_of_0_is_linear(void** state)
{
  (void)state;

  // Each output is the delayed input times the gain of its own frame, through
  // fast attacks and all
  promise_rig r = cell_alone(0.1, 10.0);
  promise_bursts(in, 48000, 6);
  const uint32_t latency = r.st.ops->latency_frames(r.state);
  for (uint32_t i = 0; i < 48000; ++i) {
    promise_run(&r, in + i, out + i, 1);
    r.st.ops->meter(r.state, &other[i]);
  }
  for (uint32_t i = 0; i < 48000 - latency; ++i) {
    const double want = (double)in[i] * db_to_gain(-(double)other[i]);
    assert_near((double)out[i + latency], want, 1e-6);
  }
  promise_rig_free(&r);
}

/// HD2 of what the edge makes of a sine of `peak` at its input, by Fourier
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
    const double y = x + share * (edge_curve(x) - x);
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
test_edge_drive(void** state)
{
  (void)state;

  // At 35 %: a drive of -3.1 dB and 82 % of the difference.  First without
  // compression, then 5 to 15 ms into a slow attack, where some 9.5 dB of the
  // reduction are still to come: 0.15 of drive for each.
  const double drive = db_to_gain(14.0 * 0.35 - 8.0);
  const double share = 1.0 - pow(0.65, 4.0);
  check_sine(in, 96000, 1000.0, 0.5, RATE_HZ);
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_set(&r, "threshold_db", 0.0);
  promise_run(&r, in, out, 96000);
  const double plain = curve_hd2(0.5 * drive, share);
  assert_relative(hd2(out + 48000, 48000), plain, 0.03);

  promise_set(&r, "timing", 1.0);
  promise_set(&r, "attack_ms", 100.0);
  promise_set(&r, "threshold_db", -20.0);
  promise_set(&r, "ratio", 4.0);
  const uint32_t latency = r.st.ops->latency_frames(r.state);
  promise_run(&r, in, out, 1000);
  const double target = 0.75 * (gain_to_db(0.5) + 20.0);
  const double now    = target * -expm1(-0.010 / 0.100);
  const double level  = db_to_gain(
     playing_loss_db(-20.0, 0.75, 3.0, playing_peak_offset_db(0.100, 0.200)));
  const double hot =
    drive * level * db_to_gain(-now) * (1.0 + 0.15 * (target - now));
  assert_relative(hd2(out + 240 + latency, 480), curve_hd2(0.5 * hot, share),
                  0.05);
  assert_true(curve_hd2(0.5 * hot, share) > 2.0 * plain);
  promise_rig_free(&r);
}

static void
test_paths_are_aligned(void** state)
{
  (void)state;

  // Put together from its parts on whole arrays, with plain shifts
  enum { M = 24000 };
  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_set(&r, "threshold_db", -30.0);
  promise_set(&r, "blend_pc", 60.0);
  promise_bursts(in, M, 8);
  promise_run(&r, in, out, M);

  static float reduction[M], lack[M], hot[M], diff[M];
  const double level = playing_loss_db(-30.0, 1.0 - 1.0 / 3.0, 3.0, 0.0);
  const double drive = db_to_gain(14.0 * 0.35 - 8.0 + level);
  gain_cell    cell  = {0};
  edge         e     = {0};
  gain_cell_init(&cell, RATE_HZ, 1);
  gain_cell_set(&cell, &(gain_cell_settings){
                         -30.0, 1.0 - 1.0 / 3.0, 3.0, true, {0.01, 0.2}});
  gain_cell_reset(&cell);
  edge_init(&e, RATE_HZ);
  for (uint32_t i = 0; i < M; i += CONTROL_FRAMES) {
    const float* const at = in + i;
    gain_cell_control(&cell);
    gain_cell_run(&cell, &at, reduction + i, lack + i, CONTROL_FRAMES);
    for (uint32_t k = i; k < i + CONTROL_FRAMES; ++k) {
      const double hard = drive * (1.0 + 0.15 * (double)lack[k]);
      hot[k] =
        (float)((double)in[k] * db_to_gain(-(double)reduction[k]) * hard);
    }
    edge_process(&e, hot + i, diff + i, CONTROL_FRAMES);
  }

  const uint32_t latency = r.st.ops->latency_frames(r.state);
  const double   share   = 1.0 - pow(0.65, 4.0);
  for (uint32_t i = 0; i + latency < M; ++i) {
    const double hard = drive * (1.0 + 0.15 * (double)lack[i]);
    const double wet  = (double)in[i] * db_to_gain(-(double)reduction[i]) +
                       share * (double)diff[i + latency] / hard;
    const double want = 0.4 * (double)in[i] + 0.6 * db_to_gain(level) * wet;
    assert_near((double)out[i + latency], want, 1e-5);
  }
  promise_rig_free(&r);
}

static void
test_latency(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < sizeof(promise_rates) / sizeof(double); ++i) {
    const double   rate = promise_rates[i];
    promise_rig    r    = promise_rig_new(&input_compressor_ops, rate, 1);
    const uint32_t want = r.st.ops->latency_frames(r.state);
    memset(in, 0, 1000 * sizeof(float));
    in[0] = 0.01F;
    promise_run(&r, in, out, 1000);
    uint32_t at = 0;
    for (uint32_t k = 0; k < 1000; ++k) {
      at = fabsf(out[k]) > fabsf(out[at]) ? k : at;
    }
    assert_int_equal(at, want);
    assert_true(rate < 176400.0 || want == 0);
    promise_rig_free(&r);
  }
}

static void
test_promises(void** state)
{
  (void)state;

  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_any_split(&r);
  promise_mono_is_stereo(&r);
  promise_set(&r, "timing", 1.0);
  promise_any_split(&r);
  promise_finite(&input_compressor_ops);
  promise_rig_free(&r);
}

static void
test_linked(void** state)
{
  (void)state;

  // The quiet channel is turned down with the loud one, whichever that is
  static float a[96000], b[96000];
  promise_rig  r = promise_rig_new(&input_compressor_ops, RATE_HZ, 2);
  promise_set(&r, "makeup", 1.0);
  promise_set(&r, "edge_pc", 0.0);
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
  promise_rig_free(&r);
}

static void
test_no_click(void** state)
{
  (void)state;

  promise_rig r = promise_rig_new(&input_compressor_ops, RATE_HZ, 1);
  promise_no_click(&r);
  *promise_value(&r, "threshold_db") = -40.0F;
  *promise_value(&r, "ratio")        = 8.0F;
  promise_no_click(&r);
  *promise_value(&r, "timing") = 1.0F;
  *promise_value(&r, "makeup") = 1.0F;
  promise_no_click(&r);
  promise_rig_free(&r);
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
    cmocka_unit_test(test_makeup_law),
    cmocka_unit_test(test_auto_makeup_keeps_loudness),
    cmocka_unit_test(test_edge_and_blend_keep_loudness),
    cmocka_unit_test(test_makeup_does_not_adapt),
    cmocka_unit_test(test_edge_takes_the_transient),
    cmocka_unit_test(test_exact_paths),
    cmocka_unit_test(test_edge_of_0_is_linear),
    cmocka_unit_test(test_edge_drive),
    cmocka_unit_test(test_paths_are_aligned),
    cmocka_unit_test(test_latency),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_linked),
    cmocka_unit_test(test_no_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
