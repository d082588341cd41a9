// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The saturator, its resonator and the follower that drives them

#include "tests/support/check.h"

#include "common/speaker/breakup.h"
#include "common/speaker/breakup_follower.h"

#include <complex.h>
#include <string.h>

#define MAX_SAMPLES (400000 * 2)

static float wave[MAX_SAMPLES];

/// The loop's settings for a level, as the stage's defaults make them: 18 dB of
/// drive, 10 to 45 % mix, 60 % feedback, 3 dB of squeeze, 0.25 octaves
typedef struct {
  float drive, dry, wet, feedback, position;
} setting;

static setting
setting_of(double c)
{
  const double mix     = 0.10 + 0.35 * c;
  const double squeeze = db_to_gain(-3.0 * c);
  return (setting){.drive    = (float)db_to_gain(18.0 * c),
                   .dry      = (float)((1.0 - mix) * squeeze),
                   .wet      = (float)(mix * squeeze * db_to_gain(-10.8 * c)),
                   .feedback = (float)(0.6 * c),
                   .position = (float)c};
}

static void
run(breakup* b, setting s, float* x, uint32_t n_frames)
{
  float moves[4][CONTROL_FRAMES + 1];
  for (int i = 0; i <= CONTROL_FRAMES; ++i) {
    moves[0][i] = s.drive;
    moves[1][i] = s.dry;
    moves[2][i] = s.wet;
    moves[3][i] = s.feedback;
  }
  const breakup_moves m = {moves[0] + 1, moves[1] + 1, moves[2] + 1,
                           moves[3] + 1};
  breakup_snap(b, 0.25 * (double)s.position);
  for (uint32_t done = 0; done < n_frames; done += CONTROL_FRAMES) {
    const uint32_t left = n_frames - done;
    float* const   at   = x + (size_t)done * b->factor;
    breakup_push(b, 0.25 * (double)s.position);
    breakup_process(b, &m, &at, 1,
                    left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
}

/// THD in percent of a sine at the inner rate, whole periods in 0.2 s
static double
thd_pc(double f_hz, double peak_dbfs, setting s, double rate_hz)
{
  static breakup b;
  const uint32_t factor = oversample_factor(1, rate_hz);
  breakup_init(&b, factor, rate_hz);
  breakup_set_resonance(&b, 2600.0);

  const double   inner_hz = factor * rate_hz;
  const uint32_t n        = (uint32_t)(0.2 * rate_hz) * factor;
  check_sine(wave, 2 * n, f_hz, db_to_gain(peak_dbfs), inner_hz);
  run(&b, s, wave, 2 * n / factor);

  double sum = 0.0;
  for (int k = 2; k <= 20 && k * f_hz < 20000.0; ++k) {
    const double a = check_tone(wave + n, n, k * f_hz, inner_hz);
    sum += a * a;
  }
  return 100.0 * sqrt(sum) / check_tone(wave + n, n, f_hz, inner_hz);
}

// The delay-free loop solved per sample by Newton's method at 176.4 to 384 kHz
// (computed; those three agree within 2 %)
static void
test_level_law(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 96000.0, 192000.0};
  static const struct {
    double peak_dbfs, c, at_200, at_1000, at_2600;
  } rows[] = {
    {-40.0, 0.0, 0.0, 0.0, 0.0},         {-30.0, 0.034, 0.0017, 0.0017, 0.0017},
    {-24.0, 0.259, 0.033, 0.038, 0.051}, {-18.0, 0.582, 0.815, 1.05, 1.66},
    {-12.0, 0.873, 6.54, 7.55, 8.53},    {-6.0, 1.0, 10.3, 10.6, 10.7},
    {0.0, 1.0, 8.3, 8.2, 8.1},
  };

  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    double last = 0.0;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
      const double  level = rows[i].peak_dbfs - 3.0103;
      const double  c     = (double)breakup_how_hard(level);
      const setting s     = setting_of(c);
      assert_near(c, rows[i].c, 0.01);

      const double at_200  = thd_pc(200.0, rows[i].peak_dbfs, s, rates[r]);
      const double at_1000 = thd_pc(1000.0, rows[i].peak_dbfs, s, rates[r]);
      const double at_2600 = thd_pc(2600.0, rows[i].peak_dbfs, s, rates[r]);
      const double floor   = 0.0002; // Of float, in percent
      assert_near(at_200, rows[i].at_200, 0.05 * rows[i].at_200 + floor);
      assert_near(at_1000, rows[i].at_1000, 0.05 * rows[i].at_1000 + floor);
      assert_near(at_2600, rows[i].at_2600, 0.05 * rows[i].at_2600 + floor);
      assert_true(rows[i].peak_dbfs > -6.0 || at_1000 > last);
      last = at_1000;
    }
  }
}

/// |H| of the resonator from its coefficients
static double
resonator_gain(const double* coefs, double w)
{
  const double complex e  = cexp(-w * (double complex)_Complex_I);
  const double         a2 = coefs[1];
  const double         a1 = coefs[0] - 1.0 - a2;
  return cabs((1.0 - e) * (coefs[2] + coefs[3] * e) /
              (1.0 + a1 * e + a2 * e * e));
}

// Small-gain theorem: loop gain below 1 at every frequency.  The saturator's
// is 1, so the resonator's times the feedback decides.
static void
test_small_gain(void** state)
{
  (void)state;
  static const double rates[] = {8000.0,  11025.0, 16000.0,  22050.0, 32000.0,
                                 44100.0, 48000.0, 64000.0,  88200.0, 96000.0,
                                 128e3,   176.4e3, 192000.0, 256e3,   384000.0};
  double              worst   = 0.0;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    for (uint32_t quality = 0; quality < 3; ++quality) {
      for (int cone = 0; cone < 4; ++cone) {
        static const double f0_hz[] = {3900.0, 3120.0, 2600.0, 2080.0};
        static breakup      b;
        breakup_init(&b, oversample_factor(quality, rates[r]), rates[r]);
        breakup_set_resonance(&b, f0_hz[cone]);
        for (int fall = 0; fall <= 8; ++fall) {
          breakup_snap(&b, BREAKUP_MAX_FALL_OCT * fall / 8.0);
          for (int i = 1; i <= 1000; ++i) {
            const double w = DSP_PI * pow(i / 1000.0, 3.0);
            worst          = fmax(worst, resonator_gain(b.now, w));
          }
        }
      }
    }
  }
  print_message("# greatest gain of the resonator: %.5f\n", worst);
  assert_true(worst > 0.999);
  assert_true(worst * BREAKUP_MAX_FEEDBACK < 0.98);
}

// Moving, the resonator is the design at its present frequency
static void
test_fall(void** state)
{
  (void)state;
  static const double rates[] = {8000.0, 44100.0, 48000.0, 192000.0};
  double              worst   = 0.0;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    static breakup b;
    breakup_init(&b, oversample_factor(1, rates[r]), rates[r]);
    breakup_set_resonance(&b, 2600.0);
    for (int i = 0; i <= 100; ++i) {
      const double fall_oct = BREAKUP_MAX_FALL_OCT * i / 100.0;
      double       want[BREAKUP_COEFS];
      breakup_design(2600.0 * exp2(-fall_oct), b.delay, b.rate_hz, want);
      breakup_snap(&b, fall_oct);
      for (int k = 0; k < BREAKUP_COEFS; ++k) {
        worst = fmax(worst, fabs(b.now[k] / want[k] - 1.0));
      }
    }
  }
  print_message("# coefficients off by up to %.1e of theirs\n", worst);
  assert_near(worst, 0.0, 5e-5);
}

// Between two grid lines each frame has the coefficients of its own: the next
// frame is the one of a resonator that stands where this one has come to
static void
test_moves_with_every_frame(void** state)
{
  (void)state;
  static breakup moving, standing;
  uint32_t       checked = 0;
  for (uint32_t factor = 1; factor <= 8; factor *= 2) {
    breakup_init(&moving, factor, 48000.0);
    if (moving.delay == 4) {
      continue; // Works on four samples together: breakup_lanes.c
    }
    breakup_set_resonance(&moving, 2600.0);
    breakup_snap(&moving, 0.0);
    breakup_push(&moving, BREAKUP_MAX_FALL_OCT);

    float  gain[1 + CONTROL_FRAMES], feedback[CONTROL_FRAMES];
    float  x[8 * CONTROL_FRAMES], next[8], want[8];
    float* samples[] = {x};
    for (uint32_t i = 0; i <= CONTROL_FRAMES; ++i) {
      gain[i]                      = 1.0F;
      feedback[i % CONTROL_FRAMES] = 0.5F;
    }
    const breakup_moves moves = {gain + 1, gain + 1, gain + 1, feedback};
    const uint32_t      n     = CONTROL_FRAMES / 2;
    uint32_t            seed  = 3;
    for (uint32_t i = 0; i < n * factor; ++i) {
      x[i] = check_noise(&seed);
    }
    breakup_process(&moving, &moves, samples, 1, n);

    standing       = moving;
    standing.phase = 0;
    for (int k = 0; k < BREAKUP_COEFS; ++k) {
      assert_true(moving.step[k] != 0.0);
      standing.now[k] += moving.step[k] * moving.phase;
      standing.step[k] = 0.0;
    }
    for (uint32_t i = 0; i < factor; ++i) {
      next[i] = want[i] = check_noise(&seed);
    }
    float* at_next[] = {next};
    float* at_want[] = {want};
    breakup_process(&moving, &moves, at_next, 1, 1);
    breakup_process(&standing, &moves, at_want, 1, 1);
    assert_memory_equal(next, want, factor * sizeof(float));
    ++checked;
  }
  assert_true(checked > 0);
}

// 1 / (1 - feedback) where the loop resonates, for small signals
static void
test_loop_gain(void** state)
{
  (void)state;
  static const double rates[]    = {44100.0, 48000.0, 96000.0, 192000.0};
  static const double feedback[] = {0.5, 0.7, 0.9};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    for (size_t i = 0; i < 3; ++i) {
      static breakup b;
      const uint32_t factor = oversample_factor(1, rates[r]);
      breakup_init(&b, factor, rates[r]);
      breakup_set_resonance(&b, 2600.0);
      const double   inner_hz = factor * rates[r];
      const uint32_t n        = (uint32_t)(0.2 * rates[r]) * factor;
      check_sine(wave, 2 * n, 2600.0, 1e-3, inner_hz);
      const setting s = {1.0F, 0.0F, 1.0F, (float)feedback[i], 0.0F};
      run(&b, s, wave, 2 * n / factor);
      const double got = check_tone(wave + n, n, 2600.0, inner_hz) / 1e-3;
      assert_near(got, 1.0 / (1.0 - feedback[i]), 0.003 / (1.0 - feedback[i]));
    }
  }
}

// An impulse dies away even with the most feedback there is
static void
test_decay(void** state)
{
  (void)state;
  static const double rates[] = {8000.0,  16000.0, 22050.0,  44100.0,
                                 48000.0, 96000.0, 192000.0, 384000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    for (uint32_t quality = 0; quality < 3; ++quality) {
      static breakup b;
      const uint32_t factor = oversample_factor(quality, rates[r]);
      breakup_init(&b, factor, rates[r]);
      breakup_set_resonance(&b, 2600.0);
      const uint32_t frames = (uint32_t)(0.6 * rates[r]);
      memset(wave, 0, sizeof(float) * frames * factor);
      wave[0]         = 100.0F;
      const setting s = {8.0F, 0.5F, 0.5F, (float)BREAKUP_MAX_FEEDBACK, 1.0F};
      run(&b, s, wave, frames);
      for (uint32_t i = (frames - 100) * factor; i < frames * factor; ++i) {
        assert_near((double)wave[i], 0.0, 1e-6);
      }
    }
  }
}

/// Time from a step up (`rising`) or down until the follower passes `level`, on
/// a sine whose peak is at -60 dBFS for 1 s, at -6 for 1 s and at -60 again
static double
passes_s(double rate_hz, double f_hz, float level, bool rising)
{
  breakup_follower f;
  breakup_follower_set(&f, 3.0, 150.0, rate_hz);
  breakup_follower_reset(&f);
  const uint32_t second = (uint32_t)rate_hz;
  const double   loud   = db_to_gain(-6.0);
  for (uint32_t i = 0; i < 3 * second; ++i) {
    const bool         is_loud = i >= second && i < 2 * second;
    const float        x = (float)((is_loud ? loud : loud * db_to_gain(-54.0)) *
                            sin(2.0 * DSP_PI * f_hz * i / rate_hz));
    const float* const at = &x;
    float              c  = 0.0F;
    breakup_follower_process(&f, &at, &c, 1, 1);
    const uint32_t from = rising ? second : 2 * second;
    if (i >= from && (rising ? c >= level : c <= level)) {
      return (i - from) / rate_hz;
    }
  }
  return INFINITY;
}

// Times of the same equations in double (computed): 9.8 and 145 ms
static void
test_follower_times(void** state)
{
  (void)state;
  static const double rates[] = {22050.0, 44100.0, 48000.0, 96000.0, 192000.0};
  const double        up_48   = passes_s(48000.0, 1000.0, 0.9F, true);
  const double        down_48 = passes_s(48000.0, 1000.0, 0.1F, false);
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    const double up   = passes_s(rates[r], 1000.0, 0.9F, true);
    const double down = passes_s(rates[r], 1000.0, 0.1F, false);
    print_message("# %6.0f Hz: up in %.2f ms, down in %.1f ms\n", rates[r],
                  1e3 * up, 1e3 * down);
    assert_near(up, 9.8e-3, 0.98e-3);
    assert_near(down, 145e-3, 14.5e-3);
    assert_near(up, up_48, 1e-3);
    assert_near(down, down_48, 1e-3);
  }
}

// Steady level within 0.35 dB of the RMS at 82 Hz, 0.03 dB at 1 kHz (computed)
static void
test_follower_level(void** state)
{
  (void)state;
  static const struct {
    double f_hz, above_db;
  } rows[] = {{82.0, 0.35}, {1000.0, 0.03}};
  for (size_t i = 0; i < 2; ++i) {
    breakup_follower f;
    breakup_follower_set(&f, 3.0, 150.0, 48000.0);
    breakup_follower_reset(&f);
    check_sine(wave, 96000, rows[i].f_hz, 0.1, 48000.0);
    for (uint32_t j = 0; j < 96000; j += CONTROL_FRAMES) {
      const float* const at = wave + j;
      float              c[CONTROL_FRAMES];
      breakup_follower_process(&f, &at, c, 1, CONTROL_FRAMES);
    }
    const double level = 10.0 * log10(2.0) * f.level;
    assert_near(level, -23.0103 + 0.5 * rows[i].above_db,
                0.5 * rows[i].above_db + 0.001);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_level_law),
    cmocka_unit_test(test_small_gain),
    cmocka_unit_test(test_fall),
    cmocka_unit_test(test_moves_with_every_frame),
    cmocka_unit_test(test_loop_gain),
    cmocka_unit_test(test_decay),
    cmocka_unit_test(test_follower_times),
    cmocka_unit_test(test_follower_level),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
