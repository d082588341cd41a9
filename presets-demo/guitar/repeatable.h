// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Arithmetic that gives the same bits on every machine, and dice.
///
/// The last bit of exp(), sin() and their kin differs from one libm to the
/// next, and a recursive string model carries that bit into the file.  These
/// versions use only + - * / and sqrt(), which IEEE 754 rounds in one way, and
/// frexp(), ldexp() and floor(), which are exact.  They also need evaluation in
/// binary64 (checked below) without contraction to fused multiply-adds or
/// reassociation (compiler flags in meson.build).
///
/// Errors against libm stay below 4e-15, relative or absolute, in the ranges
/// stated; enough for sound, and meant for nothing else.

#ifndef PRESETS_DEMO_GUITAR_REPEATABLE_H
#define PRESETS_DEMO_GUITAR_REPEATABLE_H

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdint.h>

static_assert(FLT_EVAL_METHOD == 0,
              "Needs arithmetic without excess precision");
static_assert(DBL_MANT_DIG == 53, "Needs IEEE 754 binary64");

#define RP_PI 3.14159265358979323846

/// For x in -700..700
static inline double
rp_exp(double x)
{
  const double ln2_hi = 0x1.62e42fee00000p-1; // Low bits zero: k * ln2_hi exact
  const double ln2_lo = 0x1.a39ef35793c76p-33;
  const double k      = floor(x / 0x1.62e42fefa39efp-1 + 0.5);
  const double r      = (x - k * ln2_hi) - k * ln2_lo;

  double sum = 1.0; // Taylor by Horner: |r| < 0.35, 0.35^15 / 15! < 1e-19
  for (int i = 14; i > 0; --i) {
    sum = 1.0 + sum * r / i;
  }
  return ldexp(sum, (int)k);
}

/// For x > 0
static inline double
rp_log(double x)
{
  int    e = 0;
  double m = frexp(x, &e);
  if (m < 0.70710678118654752) {
    m *= 2.0;
    --e;
  }

  // ln m = 2 artanh s, |s| < 0.172
  const double s   = (m - 1.0) / (m + 1.0);
  double       sum = 0.0;
  for (int i = 21; i > 0; i -= 2) {
    sum = sum * s * s + 1.0 / i;
  }
  return 2.0 * s * sum + e * 0x1.62e42fefa39efp-1;
}

/// For |x| below 1e4
static inline double
rp_sin(double x)
{
  const double k = floor(x / RP_PI + 0.5); // sin x = (-1)^k sin(x - k pi)
  const double r = (x - k * 0x1.921fb54400000p+1) - k * 0x1.0b4611a626331p-33;

  // sin r / r in r^2, Horner; 1 / (2 i + 1)!
  static const double c[] = {-1.0 / 6.0,
                             1.0 / 120.0,
                             -1.0 / 5040.0,
                             1.0 / 362880.0,
                             -1.0 / 39916800.0,
                             1.0 / 6227020800.0,
                             -1.0 / 1307674368e3,
                             1.0 / 355687428096e3,
                             -1.0 / 121645100408832e3,
                             1.0 / 51090942171709440e3};
  const double        r2  = r * r;
  double              sum = 0.0;
  for (int i = 9; i >= 0; --i) {
    sum = (sum + c[i]) * r2;
  }
  sum += 1.0;
  return (k - 2.0 * floor(k / 2.0) > 0.5 ? -r : r) * sum;
}

static inline double
rp_cos(double x)
{
  return rp_sin(x + RP_PI / 2.0);
}

/// For any finite x
static inline double
rp_atan(double x)
{
  // Three halvings of the angle leave |x| < 0.2
  for (int i = 0; i < 3; ++i) {
    x /= 1.0 + sqrt(1.0 + x * x);
  }
  double sum = 0.0;
  for (int i = 23; i > 0; i -= 2) {
    sum = 1.0 / i - sum * x * x;
  }
  return 8.0 * x * sum;
}

/// 2^(cents / 1200)
static inline double
rp_cents(double cents)
{
  return rp_exp(cents * 5.7762265046662109e-4); // ln 2 / 1200
}

static inline double
rp_db(double db)
{
  return rp_exp(db * 0.11512925464970228); // ln 10 / 20
}

/// A stream of random numbers.  xorshift64*, S. Vigna, ACM Trans. Math. Softw.
/// 42(4), 2016, after Marsaglia.
typedef struct {
  uint64_t s; ///< Not 0
} dice;

static inline dice
dice_of(uint64_t seed)
{
  // Spread small seeds over the whole word
  return (dice){(seed + 1U) * 0x9e3779b97f4a7c15U | 1U};
}

/// Uniform in 0..1, 1 excluded
static inline double
dice_uniform(dice* d)
{
  d->s ^= d->s >> 12;
  d->s ^= d->s << 25;
  d->s ^= d->s >> 27;
  return (double)((d->s * 0x2545f4914f6cdd1dU) >> 11) * 0x1p-53;
}

/// Uniform in lo..hi
static inline double
dice_between(dice* d, double lo, double hi)
{
  return lo + (hi - lo) * dice_uniform(d);
}

/// Mean 0, standard deviation 1, never beyond +-3.5 (sum of four uniforms)
static inline double
dice_bell(dice* d)
{
  const double a = dice_uniform(d) + dice_uniform(d);
  const double b = dice_uniform(d) + dice_uniform(d);
  return (a + b - 2.0) * 1.7320508075688772;
}

#endif // PRESETS_DEMO_GUITAR_REPEATABLE_H
