// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Logarithm and exponential to base 2, and tanh, without a libm call.
///
/// For loops over a block: no branch and no table, so that the compiler turns
/// them into vector code.  The polynomials and the quotient of two are minimax
/// fits of our own (exchange algorithm, coefficients rounded to float); the
/// errors stated are those of the whole function in float arithmetic, found by
/// a sweep against libm.  Real-time safe.

#ifndef COMMON_CORE_FASTMATH_H
#define COMMON_CORE_FASTMATH_H

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/// Before a function with such loops: compiles it for wider registers as well,
/// and for AVX-512, of which there are 32 instead of 16; the program chooses
/// when it is loaded.  The results are the same bits, because no multiplication
/// is fused with an addition.  NO_WIDE_REGISTERS leaves both out, NO_AVX512
/// that one: for tools that do not know all instructions, for older compilers,
/// and for the twins that the bundle is compared with.
#if defined(NO_WIDE_REGISTERS) || !defined(__x86_64__) ||            \
  !defined(__GLIBC__) || !defined(__GNUC__) || defined(__clang__) || \
  defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#  define WIDE_CLONES
#elif defined(NO_AVX512) || __GNUC__ < 12
#  define HAS_WIDE_CLONES
#  define WIDE_CLONES __attribute__((target_clones("avx2", "default")))
#else
#  define HAS_WIDE_CLONES
#  define WIDE_CLONES \
    __attribute__((target_clones("arch=x86-64-v4", "avx2", "default")))
#endif

/// Whether functions with WIDE_CLONES have registers of four doubles here:
/// where they have not, what is laid out for these takes twice as long
static inline bool
wide_clones_run(void)
{
#ifdef HAS_WIDE_CLONES
  return __builtin_cpu_supports("avx2");
#else
  return false;
#endif
}

/// dB of amplitude in one factor of 2: 20 log10(2)
#define DB_PER_OCTAVE 6.0205999132796239F

/// 1 / DB_PER_OCTAVE
#define OCTAVES_PER_DB 0.16609640474436813F

static inline int32_t
float_bits(float x)
{
  int32_t i;
  memcpy(&i, &x, sizeof(i));
  return i;
}

static inline float
float_of_bits(int32_t i)
{
  float x;
  memcpy(&x, &i, sizeof(x));
  return x;
}

/// Returns log2(x) for normal x above 0: within 3e-7 of the value plus 1e-7,
/// and exact at powers of two.  Zero, denormal, negative or infinite x give
/// some finite number; put a floor under x instead (1e-6 for -120 dB).
static inline float
fast_log2(float x)
{
  // x = m 2^e with m from sqrt(1/2) to sqrt(2)
  const uint32_t bits = (uint32_t)float_bits(x);
  const int32_t  e    = (int32_t)(bits - 0x3F3504F3U) >> 23;
  const float t = float_of_bits((int32_t)(bits - ((uint32_t)e << 23))) - 1.0F;

  float p = -0.14581169188022614F;
  p       = p * t + 0.23404237627983093F;
  p       = p * t - 0.24887686967849731F;
  p       = p * t + 0.2870987057685852F;
  p       = p * t - 0.3602396249771118F;
  p       = p * t + 0.48092323541641235F;
  p       = p * t - 0.7213528156280518F;
  p       = p * t + 1.442694902420044F;
  return (float)e + p * t;
}

/// Returns 2^x within 2e-7 of the value, exact at whole numbers.  x is clamped
/// to -126..126; NaN gives some finite number.
static inline float
fast_exp2(float x)
{
  const float lo = x > -126.0F ? x : -126.0F;
  const float c  = lo < 126.0F ? lo : 126.0F;

  // Adding 1.5 * 2^23 leaves the nearest whole number in the low bits
  const float   magic = 12582912.0F;
  const float   moved = c + magic;
  const int32_t e     = float_bits(moved) - float_bits(magic);
  const float   t     = c - (moved - magic);

  float p = 0.001326472731307149F;
  p       = p * t + 0.009671512991189957F;
  p       = p * t + 0.05550733581185341F;
  p       = p * t + 0.24022242426872253F;
  p       = p * t + 0.6931470036506653F;
  p       = p * t + 1.0F;
  return float_of_bits(
    (int32_t)((uint32_t)float_bits(p) + ((uint32_t)e << 23)));
}

/// Returns tanh(x) within 3e-6 of the value, odd, constant beyond +-7.  NaN
/// gives some finite number.
static inline float
fast_tanh(float x)
{
  const float lo = x > -7.0F ? x : -7.0F;
  const float c  = lo < 7.0F ? lo : 7.0F;
  const float c2 = c * c;

  float p = 3.995861334260553e-06F;
  p       = p * c2 + 0.0022930866107344627F;
  p       = p * c2 + 0.1232205256819725F;
  p       = p * c2 + 0.9999989867210388F;

  float q = 0.0001439842308172956F;
  q       = q * c2 + 0.021151604130864143F;
  q       = q * c2 + 0.4565461277961731F;
  q       = q * c2 + 1.0F;
  return c * p / q;
}

#endif // COMMON_CORE_FASTMATH_H
