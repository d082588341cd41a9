// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Flushes denormals to zero for a block, then restores the mode.
///
/// Decaying filters end in denormal numbers, which cost some hundred cycles
/// each on common processors.  The mode belongs to the host's thread, so it is
/// restored.  In between, rounding is to nearest and no exception traps, as at
/// the start of a C program, whatever another plugin left behind: a signal
/// sounds the same everywhere.  For the same reason, what is computed once and
/// kept, such as a table, is computed in C's own mode, denormals included.
/// Real-time safe.
///
/// On processors without such a mode (RISC-V, s390x) and on unknown ones both
/// are C's own; denormals_clear() takes the denormals out of the output there.

#ifndef COMMON_CORE_DENORMALS_H
#define COMMON_CORE_DENORMALS_H

#include <float.h>
#include <math.h>
#include <stdint.h>

#if defined(__SSE__)

#  include <xmmintrin.h>

typedef uint32_t fp_mode;

static inline fp_mode
denormals_flush(void)
{
  const fp_mode mode = _mm_getcsr();
  // Flush to zero, denormals are zero, every exception masked
  _mm_setcsr(0x8040U | 0x1F80U);
  return mode;
}

/// C's own mode: to the nearest, denormals kept, every exception masked
static inline fp_mode
denormals_keep(void)
{
  const fp_mode mode = _mm_getcsr();
  _mm_setcsr(0x1F80U);
  return mode;
}

static inline void
denormals_restore(fp_mode mode)
{
  _mm_setcsr(mode);
}

#elif defined(__aarch64__)

typedef uint64_t fp_mode;

static inline fp_mode
denormals_flush(void)
{
  fp_mode mode = 0;
  __asm__ volatile("mrs %0, fpcr" : "=r"(mode));
  __asm__ volatile("msr fpcr, %0" : : "r"((fp_mode)1U << 24U)); // FZ
  return mode;
}

static inline fp_mode
denormals_keep(void)
{
  fp_mode mode = 0;
  __asm__ volatile("mrs %0, fpcr" : "=r"(mode));
  __asm__ volatile("msr fpcr, %0" : : "r"((fp_mode)0));
  return mode;
}

static inline void
denormals_restore(fp_mode mode)
{
  __asm__ volatile("msr fpcr, %0" : : "r"(mode));
}

#elif defined(__arm__) && defined(__ARM_FP)

typedef uint32_t fp_mode;

static inline fp_mode
denormals_set(fp_mode to)
{
  fp_mode mode = 0;
  __asm__ volatile("vmrs %0, fpscr" : "=r"(mode));
  __asm__ volatile("vmsr fpscr, %0" : : "r"(to));
  return mode;
}

static inline fp_mode
denormals_flush(void)
{
  return denormals_set((fp_mode)1U << 24U); // FZ
}

static inline fp_mode
denormals_keep(void)
{
  return denormals_set(0);
}

static inline void
denormals_restore(fp_mode mode)
{
  (void)denormals_set(mode);
}

#else

#  define DENORMALS_REMAIN 1
#  include <fenv.h>

typedef fenv_t fp_mode;

static inline fp_mode
denormals_keep(void)
{
  fp_mode mode;
  (void)fegetenv(&mode);
  (void)fesetenv(FE_DFL_ENV);
  return mode;
}

static inline fp_mode
denormals_flush(void)
{
  return denormals_keep(); // ISO C knows no other
}

static inline void
denormals_restore(fp_mode mode)
{
  (void)fesetenv(&mode);
}

#endif

/// 0, with its sign, for a denormal that the mode has let through
static inline float
denormals_clear(float x)
{
#ifdef DENORMALS_REMAIN
  return fabsf(x) < FLT_MIN ? copysignf(0.0f, x) : x;
#else
  return x;
#endif
}

#endif // COMMON_CORE_DENORMALS_H
