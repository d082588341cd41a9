// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tests/support/click.h"
#include "tests/support/infra_cut_analog.h"
#include "tests/support/promises.h"

#include "common/stages/tube_stage.h"

#define RATE_HZ 48000.0

RIG_PARAMS(tube_stage)

/// Only the tubed signal, clean: -12 dB of drive
#define CLEAN "drive_db=-12 bright_db=0 sag_pc=0 blend_pc=100"

// Phase and delay

/// Returns the phase of the output at `f_hz` relative to the input `latency`
/// frames earlier
static double
phase_of(const tube_stage_params* values,
         double                   rate_hz,
         double                   f_hz,
         uint32_t                 latency)
{
  enum { n = 40000, settle = 20000 };
  static float x[n];
  check_sine(x, n, f_hz, 0.001, rate_hz);
  rig r = rig_open(&tube_stage_ops, rate_hz, 1, values);
  rig_run(&r, x, x, n);
  rig_close(&r);
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = settle; i < n; ++i) {
    // A Hann window, for any frequency
    const double w     = sin(DSP_PI * (i - settle) / (n - settle));
    const double angle = 2.0 * DSP_PI * f_hz * ((double)i - latency) / rate_hz;
    re += w * w * (double)x[i] * sin(angle);
    im += w * w * (double)x[i] * cos(angle);
  }
  return atan2(im, re);
}

static void
test_dry_and_tubed_are_in_phase(void** state)
{
  (void)state;
  // The circuits take 40, 43 and 44 frames at 2x, 4x and 8x: 37, 41 and 42 for
  // the oversampler, and 3.8 samples at 192 kHz by the stages.  The stage
  // waits.
  enum { latency = 48 };
  for (uint32_t q = 0; q < 3; ++q) {
    for (uint32_t s = 0; s < 3; ++s) {
      tube_stage_params v = tube_stage_with(CLEAN);
      v.stages            = (float)s;
      v.quality           = (float)q;
      rig r               = rig_open(&tube_stage_ops, RATE_HZ, 1, &v);
      assert_int_equal(tube_stage_ops.latency_frames(r.st.state), latency);
      rig_close(&r);

      // Same polarity; in step where only poles above 20 kHz are near
      const double edge_hz = 58.0; // Dry and wet share pass this high-pass
      const double own     = carg(infra_cut_analog(1000.0, edge_hz));
      assert_near(phase_of(&v, RATE_HZ, 1000.0, latency), own, 0.3);
      for (double f_hz = 2500.0; f_hz <= 5000.0; f_hz += 500.0) {
        const double p0 = phase_of(&v, RATE_HZ, f_hz - 20.0, latency);
        const double p1 = phase_of(&v, RATE_HZ, f_hz + 20.0, latency);
        assert_near((p0 - p1) / (2.0 * DSP_PI * 40.0) * RATE_HZ, 0.0, 0.5);
        assert_near(p0, 0.0, 0.2);
      }
    }
  }
}

static void
test_blend_0_is_the_input(void** state)
{
  (void)state;
  enum { n = 1000, latency = 48 };
  const tube_stage_params v = tube_stage_with("blend_pc=0");
  float                   x[n], y[n];
  uint32_t                seed = 1;
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = y[i] = check_noise(&seed);
  }
  rig r = rig_open(&tube_stage_ops, RATE_HZ, 1, &v);
  rig_run(&r, y, y, n);
  rig_close(&r);
  assert_memory_equal(y + latency, x, (n - latency) * sizeof(float));
}

// Harmonics

/// Measures the second to fifth harmonic of a tone at -18 dBFS, in dB
static void
harmonics_of(double rate_hz, double* db)
{
  const tube_stage_params v = tube_stage_with("blend_pc=100");
  uint32_t                n = (uint32_t)rate_hz;
  float*                  x = malloc(n * sizeof(float));
  assert_non_null(x);
  check_sine(x, n, 500.0, db_to_gain(-15.0), rate_hz);
  rig r = rig_open(&tube_stage_ops, rate_hz, 1, &v);
  rig_run(&r, x, x, n);
  rig_close(&r);
  const uint32_t n_last = n / 10; // 50 periods
  const float*   last   = x + n - n_last;
  const double   first  = check_tone(last, n_last, 500.0, rate_hz);
  for (uint32_t h = 2; h <= 5; ++h) {
    db[h - 2] =
      gain_to_db(check_tone(last, n_last, h * 500.0, rate_hz) / first);
  }
  free(x);
}

static void
test_rates_sound_the_same(void** state)
{
  (void)state;
  static const double rates[] = {44100, 88200, 96000, 176400, 192000, 384000};
  double              want[4];
  harmonics_of(48000.0, want);
  for (uint32_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    double got[4];
    harmonics_of(rates[i], got);
    for (uint32_t h = 0; h < 4; ++h) {
      if (want[h] > -70.0) {
        assert_near(got[h], want[h], 0.3);
      }
    }
  }
}

// Aliases: worst component from 60 Hz to 20 kHz that is no harmonic, relative
// to the fundamental.  Tones incommensurate with the rate, 24 dB of drive, the
// last 0.68 s after 1.5 s; Kaiser window of beta 22, whose side lobes are below
// -170 dB; 20 Hz around each harmonic are left out.

#define N_FFT 32768U

/// Returns the modified Bessel function of order 0, by its power series
static double
bessel_i0(double x)
{
  double term = 1.0;
  double sum  = 1.0;
  for (int k = 1; k < 100; ++k) {
    term *= 0.25 * x * x / ((double)k * k);
    sum += term;
  }
  return sum;
}

/// FFT of radix 2, in place
static void
fft(double* re, double* im, uint32_t n)
{
  for (uint32_t i = 1, j = 0; i < n; ++i) {
    uint32_t bit = n >> 1U;
    for (; j & bit; bit >>= 1U) {
      j ^= bit;
    }
    j ^= bit;
    if (i < j) {
      const double swap_re = re[i], swap_im = im[i];
      re[i] = re[j], im[i] = im[j];
      re[j] = swap_re, im[j] = swap_im;
    }
  }
  for (uint32_t half = 1; half < n; half *= 2) {
    for (uint32_t k = 0; k < half; ++k) {
      const double c = cos(DSP_PI * k / half);
      const double s = -sin(DSP_PI * k / half);
      for (uint32_t i = k; i < n; i += 2 * half) {
        const uint32_t j    = i + half;
        const double   t_re = c * re[j] - s * im[j];
        const double   t_im = c * im[j] + s * re[j];
        re[j]               = re[i] - t_re;
        im[j]               = im[i] - t_im;
        re[i] += t_re;
        im[i] += t_im;
      }
    }
  }
}

/// Up to 20 kHz, and in the band that the half-bands keep clean: up to 20 kHz
/// at 48 kHz, and lower by the rate below (common/filters/oversample.h)
typedef struct {
  double db, clean_db;
} aliases;

static aliases
find_aliases(const tube_stage_params* values,
             double                   f_hz,
             double                   peak_dbfs,
             double                   rate_hz)
{
  enum { n = 72000 + N_FFT };
  static float  x[n];
  static double re[N_FFT], im[N_FFT];
  check_sine(x, n, f_hz, db_to_gain(peak_dbfs), rate_hz);
  rig r = rig_open(&tube_stage_ops, rate_hz, 1, values);
  rig_run(&r, x, x, n);
  rig_close(&r);
  const double unit = bessel_i0(22.0);
  for (uint32_t i = 0; i < N_FFT; ++i) {
    const double at = 2.0 * i / (N_FFT - 1.0) - 1.0;
    re[i] =
      (double)x[n - N_FFT + i] * bessel_i0(22.0 * sqrt(1.0 - at * at)) / unit;
    im[i] = 0.0;
  }
  fft(re, im, N_FFT);

  double       one      = 0.0;
  double       alias    = 1e-30;
  double       clean    = 1e-30;
  const double clean_hz = 20000.0 / 48000.0 * rate_hz;
  for (uint32_t i = 0; i < N_FFT / 2; ++i) {
    const double f    = i * rate_hz / N_FFT;
    const double size = hypot(re[i], im[i]);
    const double near = fabs(f - f_hz * round(f / f_hz));
    if (fabs(f - f_hz) < 20.0) {
      one = fmax(one, size);
    } else if (f >= 60.0 && f <= 20000.0 && (near > 20.0 || f < 0.5 * f_hz)) {
      alias = fmax(alias, size);
      clean = f <= clean_hz ? alias : clean;
    }
  }
  return (aliases){.db       = gain_to_db(alias / one),
                   .clean_db = gain_to_db(clean / one)};
}

/// The worst of all tones and bias settings
static aliases
worst_aliases(uint32_t stages, double quality, double peak_dbfs, double rate_hz)
{
  static const double tones[] = {1244.5, 2489.0, 4978.0};
  static const float  bias[]  = {-100, -75, -50, -25, 0, 25, 50, 75, 100};
  aliases             worst   = {-300.0, -300.0};
  for (uint32_t k = 0; k < 27; ++k) {
    tube_stage_params v = tube_stage_with("drive_db=24 blend_pc=100");
    v.stages            = (float)stages;
    v.bias_pc           = bias[k / 3];
    v.quality           = (float)quality;

    const aliases one = find_aliases(&v, tones[k % 3], peak_dbfs, rate_hz);
    worst.db          = fmax(worst.db, one.db);
    worst.clean_db    = fmax(worst.clean_db, one.clean_db);
  }
  return worst;
}

static void
test_aliases(void** state)
{
  (void)state;
  static const struct {
    double rate_hz, quality, peak_dbfs;
    double limit_db, clean_limit_db;
  } rows[] = {
    {48000, 1, -18, -100, -100}, {48000, 1, -6, -78, -78},
    {48000, 2, -6, -105, -105},  {44100, 1, -18, -78, -97},
    {44100, 1, -6, -63, -78},    {44100, 2, -6, -63, -105},
  };
  for (uint32_t s = 0; s < 3; ++s) {
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
      const aliases got =
        worst_aliases(s, rows[i].quality, rows[i].peak_dbfs, rows[i].rate_hz);
      print_message("# stages %u, %.1f kHz, %gx, %g dBFS peak: %.1f dB, in the "
                    "clean band %.1f\n",
                    s + 1, 1e-3 * rows[i].rate_hz,
                    rows[i].quality > 1 ? 8.0 : 4.0, rows[i].peak_dbfs, got.db,
                    got.clean_db);
      assert_below(got.db, rows[i].limit_db);
      assert_below(got.clean_db, rows[i].clean_limit_db);
    }
  }
}

// Behaviour of every stage

static void
test_blocks_and_forms(void** state)
{
  (void)state;
  for (uint32_t q = 0; q < 3; ++q) {
    tube_stage_params before = tube_stage_with(NULL);
    tube_stage_params after =
      tube_stage_with("drive_db=30 bias_pc=60 sag_pc=100");
    before.quality = after.quality = (float)q;
    before.stages = after.stages = (float)(2 - q);
    promise_both_forms(&tube_stage_ops, &before, &after);
    after.stages  = (float)q;
    after.quality = (float)((q + 1) % 3);
    promise_both_forms(&tube_stage_ops, &before, &after);
  }
}

static void
test_stays_finite(void** state)
{
  (void)state;
  promise_finite(&tube_stage_ops, 2);
  promise_finite_held(&tube_stage_ops, 2);
}

static void
test_jumps_do_not_click(void** state)
{
  (void)state;
  // Clean, so that nothing else is above 4 kHz
  for (uint32_t i = 0; i < tube_stage_n_params; ++i) {
    const param_info* const p = &tube_stage_ops.params[i];
    float                   a[RIG_MAX_PARAMS], b[RIG_MAX_PARAMS];
    rig_values(&tube_stage_ops, CLEAN, a);
    rig_values(&tube_stage_ops, CLEAN, b);
    a[i]                   = p->min;
    b[i]                   = strcmp(p->symbol, "drive_db") ? p->max : -3;
    const click_peaks up   = click_of_jump(&tube_stage_ops, RATE_HZ, a, b);
    const click_peaks down = click_of_jump(&tube_stage_ops, RATE_HZ, b, a);
    print_message("# %s: %.1f (%.1f, %.1f), %.1f\n", p->symbol, up.jump_db,
                  up.before_db, up.after_db, down.jump_db);
    assert_below(up.jump_db, CLICK_LIMIT_DB);
    assert_below(down.jump_db, CLICK_LIMIT_DB);
  }
}

/// Returns the loudest peak above 4 kHz at rest, at five values of control `i`,
/// or at each of its choices
static double
loudest_at_rest_db(const float* home, uint32_t i)
{
  const param_info* const p = &tube_stage_ops.params[i];
  const float             n = p->kind == PARAM_SEL ? p->max : 4.0F;
  float                   v[RIG_MAX_PARAMS];
  double                  worst = -300.0;
  memcpy(v, home, sizeof(v));
  for (float k = 0.0F; k <= n; k += 1.0F) {
    v[i]  = p->min + (p->max - p->min) * k / n;
    worst = fmax(worst, click_of_jump(&tube_stage_ops, RATE_HZ, v, v).after_db);
  }
  return worst;
}

static void
test_overdriven_jumps_do_not_click(void** state)
{
  (void)state;
  // No louder above 4 kHz than the loudest steady sound on the way
  float home[RIG_MAX_PARAMS];
  rig_values(&tube_stage_ops, "drive_db=30", home);
  for (uint32_t i = 0; i < tube_stage_n_params; ++i) {
    float a[RIG_MAX_PARAMS], b[RIG_MAX_PARAMS];
    memcpy(a, home, sizeof(a));
    memcpy(b, home, sizeof(b));
    a[i]              = tube_stage_ops.params[i].min;
    b[i]              = tube_stage_ops.params[i].max;
    const double up   = click_of_jump(&tube_stage_ops, RATE_HZ, a, b).jump_db;
    const double down = click_of_jump(&tube_stage_ops, RATE_HZ, b, a).jump_db;
    const double own  = loudest_at_rest_db(home, i);
    print_message("# %s: %.1f, %.1f; own %.1f\n",
                  tube_stage_ops.params[i].symbol, up, down, own);
    assert_below(up, fmax(own + 3.0, CLICK_LIMIT_DB));
    assert_below(down, fmax(own + 3.0, CLICK_LIMIT_DB));
  }
}

static void
test_silence_and_size(void** state)
{
  (void)state;
  enum { n = 9600 };
  static float      x[n];
  tube_stage_params v = tube_stage_with("stages=2 drive_db=48 blend_pc=100");
  for (int bias = -100; bias <= 100; bias += 50) {
    v.bias_pc = (float)bias;
    memset(x, 0, sizeof(x));
    rig r = rig_open(&tube_stage_ops, RATE_HZ, 1, &v);
    rig_run(&r, x, x, n);
    // Also while the operating point moves
    v.bias_pc = (float)-bias;
    rig_move(&r, &v);
    rig_run(&r, x, x, n);
    for (uint32_t i = 0; i < n; ++i) {
      assert_near((double)x[i], 0.0, db_to_gain(-80.0));
    }
    rig_close(&r);
  }
  assert_below(sizeof(tube_stage), 256.0 * 1024.0);
  assert_below(sizeof(tube_table), 512.0 * 1024.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_dry_and_tubed_are_in_phase),
    cmocka_unit_test(test_blend_0_is_the_input),
    cmocka_unit_test(test_rates_sound_the_same),
    cmocka_unit_test(test_aliases),
    cmocka_unit_test(test_blocks_and_forms),
    cmocka_unit_test(test_stays_finite),
    cmocka_unit_test(test_jumps_do_not_click),
    cmocka_unit_test(test_overdriven_jumps_do_not_click),
    cmocka_unit_test(test_silence_and_size),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
