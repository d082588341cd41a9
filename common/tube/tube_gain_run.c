// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_gain.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

// Not on Windows, where gcc does not align the stack for them
#if defined(__x86_64__) && !defined(NO_WIDE_REGISTERS) && !defined(_WIN32)
#  define WIDE_REGISTERS 1
#endif
#ifdef __SSE2__
#  include <immintrin.h>
#endif

// Vectors are arguments of functions that are always inlined: how they would be
// passed does not matter
#pragma GCC diagnostic ignored "-Wpsabi"

// Below this motion of the grid the quotient of differences gives way to the
// value: rounding in it would exceed 1e-10 A
#define MIN_MOTION_V 1e-7

// Added to what is below 2^51, rounds it to a whole number, which is then in
// the low half of the bits
#define ROUNDING 0x1.8p52

#define TUBE_STREAMS_MAX (TUBE_STAGES_MAX * TUBE_CHANNELS_MAX)
#define TUBE_N_FIXED     (sizeof(tube_fixed) / sizeof(tube_lanes))
#define TUBE_N_MEMORY    (sizeof(tube_memory) / sizeof(tube_lanes))

/// Operating point: ia, ig, a, b
typedef double vec4 __attribute__((vector_size(32), may_alias, aligned(8)));

/// Its lanes
enum { TUBE_REST_IA, TUBE_REST_IG, TUBE_REST_A, TUBE_REST_B };

#define INLINE  static inline __attribute__((always_inline))
#define LANES   2
#define NAME(x) x##_2
#include "tube_gain_pipeline.h"
#undef LANES
#undef NAME
#undef INLINE

#ifdef WIDE_REGISTERS
#  define INLINE  static inline __attribute__((always_inline, target("avx2")))
#  define LANES   4
#  define NAME(x) x##_4
#  include "tube_gain_pipeline.h"
#  undef LANES
#  undef NAME
#  undef INLINE

#  define INLINE \
    static inline __attribute__((always_inline, target("avx512f,avx512dq")))
#  define LANES   8
#  define NAME(x) x##_8
#  include "tube_gain_pipeline.h"
#  undef LANES
#  undef NAME
#  undef INLINE
#endif

// All stages of all channels at once
#define AT_ONCE(name, instructions, lanes, n_stages, n_channels)              \
  instructions static void name(tube_gain* const*     g,                      \
                                const tube_rest_ramp* rest, double* const* x, \
                                uint32_t n) NONBLOCKING                       \
  {                                                                           \
    run_##lanes(g, rest, x, n, 0, n_stages, n_channels);                      \
  }

typedef void (*pipeline)(tube_gain* const*,
                         const tube_rest_ramp*,
                         double* const*,
                         uint32_t) NONBLOCKING;

/// Stage by stage, for what has no other
static void
run_plainly(tube_gain* const*     g,
            uint32_t              n_stages,
            const tube_rest_ramp* rest,
            double* const*        x,
            uint32_t              n_channels,
            uint32_t              n)
{
  for (uint32_t s = 0; s < n_stages; ++s) {
    for (uint32_t c = 0; c < n_channels; ++c) {
      run_2(g + c, rest, x + c, n, s, 1, 1);
    }
  }
}

#ifdef WIDE_REGISTERS
#  define AVX2   __attribute__((target("avx2")))
#  define AVX512 __attribute__((target("avx512f,avx512dq")))
#  define AVX512VL \
    __attribute__((target("avx512f,avx512dq,avx512vl"))) // 32 registers

// clang-format off: it takes a name with brackets for the start of a function
AT_ONCE(wide_1_1, AVX2, 4, 1, 1)
AT_ONCE(wide_2_1, AVX2, 4, 2, 1)
AT_ONCE(wide_3_1, AVX2, 4, 3, 1)
AT_ONCE(wide_1_2, AVX2, 4, 1, 2)
AT_ONCE(wide_2_2, AVX2, 4, 2, 2)
AT_ONCE(wide_3_2, AVX2, 4, 3, 2)
AT_ONCE(wider_1_1, AVX512VL, 4, 1, 1)
AT_ONCE(wider_2_1, AVX512, 8, 2, 1)
AT_ONCE(wider_3_1, AVX512, 8, 3, 1)
AT_ONCE(wider_1_2, AVX512, 8, 1, 2)
AT_ONCE(wider_2_2, AVX512, 8, 2, 2)
AT_ONCE(wider_3_2, AVX512, 8, 3, 2)
// clang-format on

static const pipeline wide[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX] = {
  {wide_1_1, wide_2_1, wide_3_1},
  {wide_1_2, wide_2_2, wide_3_2},
};
static const pipeline wider[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX] = {
  {wider_1_1, wider_2_1, wider_3_1},
  {wider_1_2, wider_2_2, wider_3_2},
};
#endif

uint32_t
tube_gain_lanes(void)
{
#ifdef WIDE_REGISTERS
#  ifndef NO_AVX512
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
      __builtin_cpu_supports("avx512vl")) {
    return 8;
  }
#  endif
  if (__builtin_cpu_supports("avx2")) {
    return 4;
  }
#endif
  return 2;
}

void
tube_gain_process_in(uint32_t              lanes,
                     tube_gain* const*     g,
                     uint32_t              n_stages,
                     const tube_rest_ramp* rest,
                     double* const*        x,
                     uint32_t              n_channels,
                     uint32_t              n)
{
#ifdef WIDE_REGISTERS
  if (lanes > 2) {
    (lanes > 4 ? wider : wide)[n_channels - 1][n_stages - 1](g, rest, x, n);
    return;
  }
#endif
  (void)lanes;
  run_plainly(g, n_stages, rest, x, n_channels, n);
}

void
tube_gain_process(tube_gain* const*     g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  double* const*        x,
                  uint32_t              n_channels,
                  uint32_t              n)
{
  tube_gain_process_in(tube_gain_lanes(), g, n_stages, rest, x, n_channels, n);
}
