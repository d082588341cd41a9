// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "libm_answers.h"

#include <complex.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N_SLOTS ((size_t)1 << 22U)

/// Bits of doubles; `function` counts from 1, 0 is an empty slot
typedef struct {
  uint64_t function, x, y, re, im;
} answer;

static answer*  slots;
static size_t   n_answers;
static bool     is_noting, is_taking, is_shaken;
static uint32_t n_missing;
static bool     is_inside; ///< libm, which asks itself as well

static uint64_t
bits_of(double x)
{
  uint64_t bits = 0;
  memcpy(&bits, &x, sizeof(bits));
  return bits;
}

static double
of_bits(uint64_t bits)
{
  double x = 0.0;
  memcpy(&x, &bits, sizeof(x));
  return x;
}

/// CMPLX(), which clang 14 has not
static double complex
complex_of(double re, double im)
{
  const double   parts[2] = {re, im};
  double complex z        = 0.0;
  memcpy(&z, parts, sizeof(z));
  return z;
}

/// Where a question is, or would be
static answer*
find(uint64_t function, uint64_t x, uint64_t y)
{
  uint64_t at = (x * 0x9E3779B97F4A7C15U) ^ (y * 0xC2B2AE3D27D4EB4FU) ^
                (function * 0x165667B19E3779F9U);
  at ^= at >> 29U;
  for (;; ++at) {
    answer* const a = &slots[at % N_SLOTS];
    if (a->function == 0 ||
        (a->function == function && a->x == x && a->y == y)) {
      return a;
    }
  }
}

static void
add(answer a)
{
  answer* const slot = find(a.function, a.x, a.y);
  if (slot->function == 0 && ++n_answers > N_SLOTS / 2) {
    fprintf(stderr, "libm_answers: too many questions\n");
    exit(1);
  }
  *slot = a;
}

static bool
make_room(void)
{
  slots = calloc(N_SLOTS, sizeof(answer));
  return slots;
}

typedef enum {
  EXP = 1,
  EXP2,
  EXPM1,
  LOG,
  LOG10,
  LOG1P,
  LOG2,
  SIN,
  COS,
  TAN,
  SINH,
  COSH,
  ASINH,
  TANH,
  POW,
  CEXP,
  CSQRT,
  CABS
} question;

/// One ulp up, one down, or as it is
static double
shake(double x, uint64_t seed)
{
  const uint64_t bits = bits_of(x);
  const uint64_t at   = (bits ^ seed) * 0x9E3779B97F4A7C15U >> 32U;
  return bits << 1U ? of_bits(bits + at % 3 - 1) : x;
}

/// Stands for `z`, the answer of this machine's libm
static double complex
settle(question function, double x, double y, double complex z)
{
  const answer here = {function, bits_of(x), bits_of(y), bits_of(creal(z)),
                       bits_of(cimag(z))};
  if (is_noting) {
    add(here);
  } else if (is_taking) {
    const answer* const there = find(here.function, here.x, here.y);
    if (there->function) {
      return complex_of(of_bits(there->re), of_bits(there->im));
    }
    ++n_missing;
  } else if (is_shaken) {
    return complex_of(shake(creal(z), function), shake(cimag(z), here.x));
  }
  return z;
}

void
libm_answers_note(void)
{
  is_noting = make_room();
}

bool
libm_answers_write(const char* path)
{
  FILE* const file = fopen(path, "wb");
  if (!file) {
    return false;
  }
  for (size_t i = 0; i < N_SLOTS; ++i) {
    const uint64_t words[] = {slots[i].function, slots[i].x, slots[i].y,
                              slots[i].re, slots[i].im};
    for (int w = 0; w < 5 && words[0]; ++w) {
      for (unsigned b = 0; b < 64; b += 8) {
        (void)putc((int)(words[w] >> b & 0xFFU), file);
      }
    }
  }
  return fclose(file) == 0;
}

bool
libm_answers_take(const char* path)
{
  FILE* const file = fopen(path, "rb");
  if (!file || !make_room()) {
    return false;
  }
  unsigned char byte[40];
  while (fread(byte, 1, sizeof(byte), file) == sizeof(byte)) {
    uint64_t words[5] = {0};
    for (int i = 0; i < 40; ++i) {
      words[i / 8] |= (uint64_t)byte[i] << 8U * (unsigned)(i % 8);
    }
    add((answer){words[0], words[1], words[2], words[3], words[4]});
  }
  (void)fclose(file);
  is_taking = n_answers > 0;
  return is_taking;
}

void
libm_answers_shake(void)
{
  is_shaken = true;
}

uint32_t
libm_answers_missing(void)
{
  return n_missing;
}

// ---------------------------------------------------------------------------
// The linker leads each call of F() to __wrap_F() (meson.build)

// NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
#define ANSWER(function, x, y, call)   \
  const bool was_inside  = is_inside;  \
  is_inside              = true;       \
  const double complex z = (call);     \
  is_inside              = was_inside; \
  return was_inside ? z : settle(function, x, y, z);

#define WRAP_REAL(function, f)                \
  double                __real_##f(double x); \
  double                __wrap_##f(double x); \
  static double complex f##_answer(double x)  \
  {                                           \
    ANSWER(function, x, 0.0, __real_##f(x))   \
  }                                           \
  double __wrap_##f(double x)                 \
  {                                           \
    return creal(f##_answer(x));              \
  }

#define WRAP_COMPLEX(function, f)                       \
  double complex __real_##f(double complex w);          \
  double complex __wrap_##f(double complex w);          \
  double complex __wrap_##f(double complex w)           \
  {                                                     \
    ANSWER(function, creal(w), cimag(w), __real_##f(w)) \
  }

WRAP_REAL(EXP, exp)
WRAP_REAL(EXP2, exp2)
WRAP_REAL(EXPM1, expm1)
WRAP_REAL(LOG, log)
WRAP_REAL(LOG10, log10)
WRAP_REAL(LOG1P, log1p)
WRAP_REAL(LOG2, log2)
WRAP_REAL(SIN, sin)
WRAP_REAL(COS, cos)
WRAP_REAL(TAN, tan)
WRAP_REAL(SINH, sinh)
WRAP_REAL(COSH, cosh)
WRAP_REAL(ASINH, asinh)
WRAP_REAL(TANH, tanh)
WRAP_COMPLEX(CEXP, cexp)
WRAP_COMPLEX(CSQRT, csqrt)

double
__real_pow(double x, double y);
double
__wrap_pow(double x, double y);
static double complex
pow_answer(double x, double y)
{
  ANSWER(POW, x, y, __real_pow(x, y))
}
double
__wrap_pow(double x, double y)
{
  return creal(pow_answer(x, y));
}

double
__real_cabs(double complex w);
double
__wrap_cabs(double complex w);
static double complex
cabs_answer(double complex w)
{
  ANSWER(CABS, creal(w), cimag(w), __real_cabs(w))
}
double
__wrap_cabs(double complex w)
{
  return creal(cabs_answer(w));
}

// What the compiler makes of a sine and a cosine of the same; libm asks it, too
void
__real_sincos(double x, double* s, double* c);
void
__wrap_sincos(double x, double* s, double* c);
void
__wrap_sincos(double x, double* s, double* c)
{
  if (is_inside) {
    __real_sincos(x, s, c);
  } else {
    *s = __wrap_sin(x);
    *c = __wrap_cos(x);
  }
}
// NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
