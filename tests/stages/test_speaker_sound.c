// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// What the loudspeaker must not add: aliases, and loudness

#include "tests/support/promises.h"

#include "common/stages/speaker_breakup.h"

#include <complex.h>

#define RATE_HZ 48000.0
#define N_FFT   32768U
#define SETTLE  21600U

#define N_PLAYED (48000U * 12)

static float  wave[N_PLAYED];
static double work[N_PLAYED];

static void
run(double             rate_hz,
    const char* const* symbols,
    const double*      values,
    size_t             n_values,
    uint32_t           n)
{
  rig r = rig_open(&speaker_breakup_ops, rate_hz, 1, NULL);
  for (size_t i = 0; i < n_values; ++i) {
    *rig_value(&r, symbols[i]) = (float)values[i];
  }
  stage_set(&r.st, r.values);
  stage_reset(&r.st);
  float* const at = wave;
  stage_process(&r.st, (const float* const*)&at, &at, 1, n);
  rig_close(&r);
}

/// FFT of radix 2, in place
static void
fft(double complex* x, uint32_t n)
{
  for (uint32_t i = 1, j = 0; i < n; ++i) {
    uint32_t bit = n >> 1U;
    for (; j & bit; bit >>= 1U) {
      j ^= bit;
    }
    j ^= bit;
    if (i < j) {
      const double complex swap = x[i];
      x[i]                      = x[j];
      x[j]                      = swap;
    }
  }
  for (uint32_t size = 2; size <= n; size *= 2) {
    for (uint32_t k = 0; k < size / 2; ++k) {
      const double complex turn =
        cexp(-2.0 * DSP_PI * k / size * (double complex)_Complex_I);
      for (uint32_t i = k; i < n; i += size) {
        const double complex t = turn * x[i + size / 2];
        x[i + size / 2]        = x[i] - t;
        x[i] += t;
      }
    }
  }
}

/// Returns the modified Bessel function of the first kind, order 0
static double
bessel_i0(double x)
{
  double sum  = 1.0;
  double term = 1.0;
  for (int k = 1; k < 80; ++k) {
    term *= 0.25 * x * x / ((double)k * k);
    sum += term;
  }
  return sum;
}

typedef struct {
  double worst_db; ///< Largest component that is not a harmonic
  double clean_db; ///< The same in the band that the half-bands keep clean
  double sum_db;   ///< All of them together
} aliases;

/// Measures the aliases of the tone in `wave` from the 21600th frame on, re the
/// tone, from 60 Hz to 20 kHz: Kaiser window of beta 22 (side lobes below -170
/// dB), 20 Hz around each harmonic left out.  The half-bands keep 20 kHz clean
/// at 48 kHz, and less by the rate below (common/filters/oversample.h).
static aliases
find_aliases(double f_hz, double rate_hz)
{
  static double complex x[N_FFT];
  for (uint32_t i = 0; i < N_FFT; ++i) {
    const double u = 2.0 * i / (N_FFT - 1.0) - 1.0;
    x[i] = (double)wave[SETTLE + i] * bessel_i0(22.0 * sqrt(1.0 - u * u));
  }
  fft(x, N_FFT);

  double one = 0.0, one_power = 0.0;
  double worst = 1e-30, power = 1e-60, clean = 1e-30;
  for (uint32_t i = 1; i < N_FFT / 2; ++i) {
    const double f    = i * rate_hz / N_FFT;
    const double near = fabs(f - f_hz * fmax(1.0, round(f / f_hz)));
    const double size = cabs(x[i]);
    if (fabs(f - f_hz) < 20.0) {
      one = fmax(one, size);
      one_power += size * size;
    } else if (near > 20.0 && f > 60.0 && f < 20000.0) {
      worst = fmax(worst, size);
      clean = f <= 20.0 / 48.0 * rate_hz ? worst : clean;
      power += size * size;
    }
  }
  return (aliases){.worst_db = gain_to_db(worst / one),
                   .clean_db = gain_to_db(clean / one),
                   .sum_db   = 0.5 * gain_to_db(power / one_power)};
}

/// The worst of three tones, which are incommensurate with the rate
static aliases
worst_aliases(double peak_dbfs, double quality, double box, double rate_hz)
{
  static const char* const symbols[] = {"breakup_db", "mix_pc", "feedback_pc",
                                        "quality", "cabinet"};
  const double             values[]  = {24.0, 80.0, 60.0, quality, box};
  static const double      tones[]   = {1200.5, 2500.5, 5000.5};
  aliases                  worst     = {-300.0, -300.0, -300.0};
  for (int i = 0; i < 3; ++i) {
    check_sine(wave, SETTLE + N_FFT, tones[i], db_to_gain(peak_dbfs), rate_hz);
    run(rate_hz, symbols, values, 5, SETTLE + N_FFT);
    const aliases one = find_aliases(tones[i], rate_hz);
    worst.worst_db    = fmax(worst.worst_db, one.worst_db);
    worst.clean_db    = fmax(worst.clean_db, one.clean_db);
  }
  return worst;
}

// Limits: worst component of a tone at -18 and -6 dBFS peak, in the clean band
// and up to 20 kHz
static void
test_aliasing(void** state)
{
  (void)state;
  static const double rates[]    = {48000.0, 44100.0};
  static const double limit_db[] = {-75.0, -95.0}; // At -6 dBFS: 4x, 8x
  for (int i = 0; i < 8; ++i) {
    const double  rate_hz = rates[i / 4];
    const int     q       = i % 2;
    const double  box     = i / 2 % 2 ? 0.0 : 1.0;
    const aliases soft    = worst_aliases(-18.0, q + 1.0, box, rate_hz);
    const aliases hard    = worst_aliases(-6.0, q + 1.0, box, rate_hz);
    print_message("# %.1f kHz, %dx, cabinet %s: %.1f dB at -18 dBFS, %.1f at "
                  "-6; in the clean band %.1f, %.1f\n",
                  1e-3 * rate_hz, 4 << q, box > 0.0 ? "on" : "off",
                  soft.worst_db, hard.worst_db, soft.clean_db, hard.clean_db);
    assert_below(soft.clean_db, -100.0);
    assert_below(hard.clean_db, limit_db[q]);
    assert_below(soft.worst_db, -100.0);
    assert_below(hard.worst_db, rate_hz < 48000.0 ? -68.0 : limit_db[q]);
  }
}

// All controls at their ends, nothing dry, a full-scale tone: the power of all
// aliases, with real resamplers, at the lowest common rate (computed for a loop
// solved by Newton's method: -133, -126, -95 dB)
static void
test_alias_power(void** state)
{
  (void)state;
  static const char* const symbols[] = {"follow_pc", "breakup_db", "mix_pc",
                                        "feedback_pc"};
  static const double      values[]  = {0.0, 18.0, 100.0, 50.0};
  static const struct {
    double f_hz, limit_db;
  } rows[] = {{1246.0, -100.0}, {2490.0, -100.0}, {4978.0, -85.0}};
  for (size_t i = 0; i < 3; ++i) {
    check_sine(wave, SETTLE + N_FFT, rows[i].f_hz, 1.0, 44100.0);
    run(44100.0, symbols, values, 4, SETTLE + N_FFT);
    const double got = find_aliases(rows[i].f_hz, 44100.0).sum_db;
    print_message("# %.0f Hz at 44.1 kHz: %.1f dB\n", rows[i].f_hz, got);
    assert_true(got < rows[i].limit_db);
  }
}

/// Runs a section b0, b1, b2, a1, a2, in place
static void
filter(const double* c, double* x, uint32_t n)
{
  double s1 = 0.0;
  double s2 = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double y = c[0] * x[i] + s1;
    s1             = c[1] * x[i] - c[3] * y + s2;
    s2             = c[2] * x[i] - c[4] * y;
    x[i]           = y;
  }
}

/// Adds a string plucked with dark noise (K. Karplus, A. Strong, Computer Music
/// J. 7(2), 1983), picked up at a fifth of its length, to `wave`
static void
pluck(double f_hz, float force, uint32_t from, uint32_t until, uint32_t* seed)
{
  static float   line[1024];
  const uint32_t period = (uint32_t)lround(RATE_HZ / f_hz);
  float          low    = 0.0F;
  for (uint32_t i = 0; i < period; ++i) {
    low += 0.05F * (check_noise(seed) - low);
    line[i] = force * low;
  }
  for (uint32_t i = from; i < until; ++i) {
    const uint32_t at = (i - from) % period;
    wave[i] += line[at] - line[(at + period / 5) % period];
    line[at] = 0.4985F * (line[at] + line[(at + 1) % period]);
  }
}

/// Power chords, strokes of different strength, through a pickup that ends at
/// 3.5 kHz (scipy.signal.butter(2, 3500, fs=48000)), at -18 dBFS RMS.  Octave
/// levels are like those of a dry guitar; the stage's loudness compensation was
/// fitted to other takes.
static void
play(void)
{
  static const double roots_hz[] = {82.41, 98.0, 110.0, 73.42, 123.47, 82.41};
  static const double pickup[]   = {0.0392792325921492, 0.0785584651842984,
                                    0.0392792325921492, -1.3664078166641995,
                                    0.5235247470327964};
  uint32_t            seed       = 1;
  memset(wave, 0, sizeof(wave));
  for (uint32_t stroke = 0; stroke < N_PLAYED / 16000; ++stroke) {
    const uint32_t from  = stroke * 16000;
    const uint32_t until = from + (stroke % 6 == 5 ? 9000 : 16000);
    const float    force = 0.4F + 0.6F * fabsf(check_noise(&seed));
    const double   root  = roots_hz[stroke / 6 % 6];
    pluck(root, force, from, until, &seed);
    pluck(1.5 * root, force, from, until, &seed);
    pluck(2.0 * root, force, from, until, &seed);
  }

  for (uint32_t i = 0; i < N_PLAYED; ++i) {
    work[i] = (double)wave[i];
  }
  filter(pickup, work, N_PLAYED);
  for (uint32_t i = 0; i < N_PLAYED; ++i) {
    wave[i] = (float)work[i];
  }
  const double scale =
    db_to_gain(ALIGN_RMS_DBFS - check_rms_db(wave, N_PLAYED));
  for (uint32_t i = 0; i < N_PLAYED; ++i) {
    wave[i] *= (float)scale;
  }
}

/// Returns the integrated loudness without the gates, as no block here is below
/// them: ITU-R BS.1770-4, tables 1 and 2, for 48 kHz
static double
loudness_lufs(void)
{
  static const double shelf[] = {1.53512485958697, -2.69169618940638,
                                 1.19839281085285, -1.69065929318241,
                                 0.73248077421585};
  static const double high[]  = {1.0, -2.0, 1.0, -1.99004745483398,
                                 0.99007225036621};
  for (uint32_t i = 0; i < N_PLAYED; ++i) {
    work[i] = (double)wave[i];
  }
  filter(shelf, work, N_PLAYED);
  filter(high, work, N_PLAYED);
  double sum = 0.0;
  for (uint32_t i = 0; i < N_PLAYED; ++i) {
    sum += work[i] * work[i];
  }
  return -0.691 + 10.0 * log10(sum / N_PLAYED);
}

// Over the whole range of each control, loudness stays within 1.5 LU
static void
test_loudness(void** state)
{
  (void)state;
  static const char* const symbols[] = {"drive_db",  "breakup_db",
                                        "mix_pc",    "feedback_pc",
                                        "follow_pc", "squeeze_db"};
  play();
  run(RATE_HZ, NULL, NULL, 0, N_PLAYED);
  const double home = loudness_lufs();

  for (int k = 0; k < 6; ++k) {
    rig               r = rig_open(&speaker_breakup_ops, RATE_HZ, 1, NULL);
    const ptrdiff_t   i = rig_value(&r, symbols[k]) - r.values;
    const param_info* p = &speaker_breakup_param_info[i];
    rig_close(&r);

    double least = 0.0;
    double most  = 0.0;
    for (int step = 0; step <= 4; ++step) {
      const double value =
        (double)p->min + 0.25 * step * (double)(p->max - p->min);
      play();
      run(RATE_HZ, &symbols[k], &value, 1, N_PLAYED);
      const double change = loudness_lufs() - home;
      least               = fmin(least, change);
      most                = fmax(most, change);
    }
    print_message("# %s: %.2f to %+.2f LU\n", symbols[k], least, most);
    assert_true(least > -1.5 && most < 1.5);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_aliasing),
    cmocka_unit_test(test_alias_power),
    cmocka_unit_test(test_loudness),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
