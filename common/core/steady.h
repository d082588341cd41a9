// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The functions of libm, without their last bits.
///
/// C leaves open how exactly they round, and each libm does it another way: the
/// last bit of a coefficient would depend on the machine, and now and then a
/// sample of the sound.  Rounded to 41 bits (a relative error of at most 2^-41,
/// -247 dB), the answer is the same everywhere, unless the true value lies
/// within an ulp of the middle between two such numbers, as one of 2000 does.
/// So nothing in common/ calls them by their own names but what rounds its
/// result (tube_table.c).  What has 41 bits or less stays exact:
/// steady_exp(0.0) is 1. sqrt(), floor() and the like are exact anyway.
///
/// All real-time safe.

#ifndef COMMON_CORE_STEADY_H
#define COMMON_CORE_STEADY_H

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

/// Rounds to 41 bits; infinity and NaN stay
static inline double
steady(double x)
{
  const uint64_t unit = (uint64_t)1 << 12U;
  uint64_t       bits = 0;
  memcpy(&bits, &x, sizeof(bits));
  bits = (bits + unit / 2) & ~(unit - 1);
  memcpy(&x, &bits, sizeof(x));
  return x;
}

static inline double complex
steady_complex(double complex z)
{
  const double   parts[2] = {steady(creal(z)), steady(cimag(z))};
  double complex w        = 0.0;
  memcpy(&w, parts, sizeof(w)); // CMPLX() is not everywhere
  return w;
}

static inline double
steady_exp(double x)
{
  return steady(exp(x));
}

static inline double
steady_exp2(double x)
{
  return steady(exp2(x));
}

static inline double
steady_expm1(double x)
{
  return steady(expm1(x));
}

static inline double
steady_log(double x)
{
  return steady(log(x));
}

static inline double
steady_log2(double x)
{
  return steady(log2(x));
}

static inline double
steady_log10(double x)
{
  return steady(log10(x));
}

static inline double
steady_log1p(double x)
{
  return steady(log1p(x));
}

static inline double
steady_sin(double x)
{
  return steady(sin(x));
}

static inline double
steady_cos(double x)
{
  return steady(cos(x));
}

static inline double
steady_tan(double x)
{
  return steady(tan(x));
}

static inline double
steady_sinh(double x)
{
  return steady(sinh(x));
}

static inline double
steady_cosh(double x)
{
  return steady(cosh(x));
}

static inline double
steady_tanh(double x)
{
  return steady(tanh(x));
}

static inline double
steady_asinh(double x)
{
  return steady(asinh(x));
}

static inline double
steady_pow(double x, double y)
{
  return steady(pow(x, y));
}

static inline double
steady_cabs(double complex z)
{
  return steady(cabs(z));
}

static inline double complex
steady_cexp(double complex z)
{
  return steady_complex(cexp(z));
}

static inline double complex
steady_csqrt(double complex z)
{
  return steady_complex(csqrt(z));
}

#endif // COMMON_CORE_STEADY_H
