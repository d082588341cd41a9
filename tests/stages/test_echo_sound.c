// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The echo as it is heard: when, how loud, how bright, how often

#include "echo_rig.h"

#include "common/tape/tape_record.h"

/// Returns the complex amplitude of the second half of `x`
static void
tone(const float* x, double f_hz, double* re, double* im)
{
  *re = *im = 0.0;
  for (uint32_t i = N / 2; i < N; ++i) {
    const double w = 2.0 * DSP_PI * f_hz * i / RATE_HZ;
    *re += (double)x[i] * sin(w) * 4.0 / N;
    *im += (double)x[i] * cos(w) * 4.0 / N;
  }
}

static void
test_delay_is_exact(void** state)
{
  (void)state;
  // By the phase of tones of 4 to 5 kHz, where the tone filters no longer add
  // phase: within 0.05 frames
  static const double times_ms[] = {5.0, 12.34, 33.33, 100.7, 250.0};
  rig                 r          = plain_echo(RATE_HZ);
  for (uint32_t t = 0; t < 5; ++t) {
    rig_set(&r, "time_ms", times_ms[t]);
    double last = 0.0;
    double sum  = 0.0;
    for (int k = 0; k <= 50; ++k) {
      const double f_hz = 4000.0 + 20.0 * k;
      double       re   = 0.0;
      double       im   = 0.0;
      check_sine(in, N, f_hz, 0.01, RATE_HZ);
      stage_reset(&r.st);
      run(&r);
      tone(out, f_hz, &re, &im);
      const double phase = atan2(im, re);
      // Whole turns from the turn that 20 Hz more makes
      const double turn = -2.0 * DSP_PI * 20.0 * 1e-3 * times_ms[t];
      sum += k ? turn + remainder(phase - last - turn, 2.0 * DSP_PI) : 0.0;
      last = phase;
    }
    const double got = -sum / (2.0 * DSP_PI * 1000.0) * RATE_HZ;
    print_message("# %.2f ms: %.3f frames\n", times_ms[t], got);
    assert_near(got, 1e-3 * (double)(float)times_ms[t] * RATE_HZ, 0.05);
  }
  rig_close(&r);
}

static void
test_combs_as_two_paths_do(void** state)
{
  (void)state;
  // Dry plus g times the same later: between 1 + g and 1 - g.  At 20 ms peaks
  // are at multiples of 50 Hz, dips between; around 2 kHz, where the losses of
  // the tape (0.6 dB) are known from the echo alone.
  rig r = plain_echo(RATE_HZ);
  rig_set(&r, "time_ms", 20.0);
  double amplitude[2];
  for (int k = 0; k < 2; ++k) {
    check_sine(in, N, 2000.0 + 25.0 * k, 0.01, RATE_HZ);
    stage_reset(&r.st);
    run(&r);
    amplitude[k] = check_tone(out + N / 2, N / 2, 2000.0 + 25.0 * k, RATE_HZ);
  }
  static const double wets_db[] = {-20.0, -12.0, -6.0};
  rig_set(&r, "dry", 0.0);
  for (uint32_t w = 0; w < 3; ++w) {
    rig_set(&r, "wet_db", wets_db[w]);
    double level[2];
    for (int k = 0; k < 2; ++k) {
      check_sine(in, N, 2000.0 + 25.0 * k, 0.01, RATE_HZ);
      stage_reset(&r.st);
      run(&r);
      level[k] = check_tone(out + N / 2, N / 2, 2000.0 + 25.0 * k, RATE_HZ);
    }
    const double g =
      0.5 * (amplitude[0] + amplitude[1]) / 0.01 * db_to_gain(wets_db[w]);
    const double want = gain_to_db((1.0 + g) / (1.0 - g));
    const double got  = gain_to_db(level[0] / level[1]);
    print_message("# ripple %.2f dB, closed form %.2f\n", got, want);
    assert_near(got, want, 0.1);
  }
  rig_close(&r);
}

static void
test_tone_of_the_echo(void** state)
{
  (void)state;
  // Against 1 kHz without its own filters: second-order Butterworth high-pass,
  // 10 lg(1 + (f0 / f)^4) (closed form); a shelf has all of its lift far above
  // 3 kHz and half of it there
  static const double f_hz[] = {175.0, 350.0, 700.0, 1400.0, 3000.0, 9000.0};
  rig                 r      = plain_echo(RATE_HZ);
  double              plain[6];
  for (uint32_t i = 0; i < 6; ++i) {
    check_sine(in, N, f_hz[i], 0.01, RATE_HZ);
    stage_reset(&r.st);
    run(&r);
    plain[i] = check_tone(out + N / 2, N / 2, f_hz[i], RATE_HZ);
  }
  rig_set(&r, "low_cut_hz", 700.0);
  rig_set(&r, "lift_db", 6.0);
  for (uint32_t i = 0; i < 6; ++i) {
    check_sine(in, N, f_hz[i], 0.01, RATE_HZ);
    stage_reset(&r.st);
    run(&r);
    const double got =
      gain_to_db(check_tone(out + N / 2, N / 2, f_hz[i], RATE_HZ) / plain[i]);
    const double cut  = -10.0 * log10(1.0 + pow(700.0 / f_hz[i], 4.0));
    const double lift = i < 4 ? 0.0 : i == 4 ? 3.0 : 6.0;
    assert_near(got, cut + lift, i == 3 ? 0.4 : 0.25);
  }
  rig_close(&r);
}

/// Returns the RMS level of playing at the tangent, for a drive
static double
level_at_tangent(double drive_db)
{
  // 18 dB puts it at full level
  return TAPE_FULL_LEVEL * sqrt(0.5) * db_to_gain(drive_db + ALIGN_RMS_DBFS);
}

static double
made_up_db(double rms)
{
  return 0.345 * gain_to_db(1.0 + 12.0 * rms * rms);
}

static void
test_repeats_fall_as_set(void** state)
{
  (void)state;
  // Each round has g times the level of the last, less the losses of a pass: at
  // 400 Hz 0.3 dB, measured on the first echo without what it is made up by
  rig r = plain_echo(RATE_HZ);
  rig_set(&r, "time_ms", 200.0);
  rig_set(&r, "repeats_pc", 50.0);
  memset(in, 0, sizeof(in));
  for (uint32_t i = 0; i < 4800; ++i) { // A burst of 100 ms
    const double w = sin(DSP_PI * i / 4800.0);
    in[i] = (float)(0.01 * w * w * sin(2.0 * DSP_PI * 400.0 * i / RATE_HZ));
  }
  run(&r);
  double level[6];
  for (uint32_t k = 0; k < 6; ++k) {
    const float* const x = k ? out + 9600 * k : in;
    level[k]             = check_rms_db(x, 4800);
  }
  const double pass_db =
    level[1] - level[0] - made_up_db(level_at_tangent(0.0));
  assert_near(pass_db, -0.3, 0.15);
  for (uint32_t k = 2; k < 6; ++k) {
    assert_near(level[k] - level[k - 1], gain_to_db(0.5) + pass_db, 0.1);
  }
  rig_close(&r);
}

static void
test_drive_loses_what_is_known_and_makes_up_what_is_said(void** state)
{
  (void)state;
  // Gaussian noise at -18 dBFS RMS below 1 kHz, where the lift does little.  An
  // error function of the tangent's slope loses sqrt(1 + pi/2 r^2) (Bussgang
  // 1952); it is a little rounder than a tangent: 1 dB.  Made up is what real
  // playing loses, which ./dev levels measures.
  rig      r    = plain_echo(RATE_HZ);
  uint32_t seed = 5;
  double   y    = 0.0;
  double   z    = 0.0;
  for (uint32_t i = 0; i < N; ++i) {
    double sum = 0.0;
    for (int k = 0; k < 6; ++k) {
      sum += (double)check_noise(&seed);
    }
    y += 0.08 * (sum - y);
    z += 0.08 * (y - z);
    in[i] = (float)z;
  }
  const double gain = db_to_gain(ALIGN_RMS_DBFS - check_rms_db(in, N));
  for (uint32_t i = 0; i < N; ++i) {
    in[i] *= (float)gain;
  }
  double first = 0.0;
  for (int drive = 0; drive <= 24; drive += 4) {
    rig_set(&r, "drive_db", drive);
    run(&r);
    const double rms  = level_at_tangent(drive);
    const double lost = 0.5 * gain_to_db(1.0 + 0.5 * DSP_PI * rms * rms);
    const double off =
      check_rms_db(out + N / 2, N / 2) - (made_up_db(rms) - lost);
    first = drive ? first : off;
    print_message("# drive %d dB: %+.2f dB\n", drive, off - first);
    assert_near(off, first, 0.5);
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_delay_is_exact),
    cmocka_unit_test(test_combs_as_two_paths_do),
    cmocka_unit_test(test_tone_of_the_echo),
    cmocka_unit_test(test_repeats_fall_as_set),
    cmocka_unit_test(test_drive_loses_what_is_known_and_makes_up_what_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
