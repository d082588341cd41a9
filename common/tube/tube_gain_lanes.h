// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The samples of a group as vectors, LANES (2, 4 or 8) wide.  Each width has a
// source of its own (tube_gain_run_2.c, ...), which defines LANES and INLINE
// before it includes this.  All make the same bits.
//
// Eight lanes hold two groups, of two stages or of two channels: the first in
// the lower half.  A function that takes or gives "a lane" does so in each
// half.

#ifndef COMMON_TUBE_TUBE_GAIN_LANES_H
#define COMMON_TUBE_TUBE_GAIN_LANES_H

#include "tube_gain_run.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

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

#if LANES == 8
#  define IN_A_VEC 2U // Groups
#else
#  define IN_A_VEC 1U
#endif
#if LANES == 2
#  define N_VECS 2 // For a group
#else
#  define N_VECS 1
#endif

typedef double  vec __attribute__((vector_size(8 * LANES), may_alias));
typedef int64_t ints __attribute__((vector_size(8 * LANES), may_alias));

#define ints ints

/// One value per sample of a group
typedef struct {
  vec v[N_VECS];
} __attribute__((may_alias)) group;

// NOLINTNEXTLINE(bugprone-macro-parentheses): a name
#define EACH(h) for (size_t h = 0; h < N_VECS; ++h)

/// Vector by vector: a compiler may take a structure apart
INLINE void
copy_group(const group* from, group* to)
{
  EACH(h)
  {
    to->v[h] = from->v[h];
  }
}

/// Lanes of one vector or of two, by number; those of the second count on
/// behind those of the first.  Lists are for 2, 4 and 8 lanes.
#if LANES == 8
#  define PICK(x, y, i, j, k, l)                                              \
    __builtin_shufflevector((x), (y), (i), (j), (k), (l), UPPER(i), UPPER(j), \
                            UPPER(k), UPPER(l))
#  define UPPER(i) ((i) + 4)
#elif LANES == 4
#  define PICK(x, y, i, j, k, l) \
    __builtin_shufflevector((x), (y), (i), (j), (k), (l))
#endif
#define OTHER LANES // First lane of the second vector in PICK

#if LANES == 8
/// Both lower halves, and both upper ones
#  define LOWER(x, y) \
    __builtin_shufflevector((x), (y), 0, 1, 2, 3, 8, 9, 10, 11)
#  define HIGHER(x, y) \
    __builtin_shufflevector((x), (y), 4, 5, 6, 7, 12, 13, 14, 15)

typedef __mmask8 mask;
#  define LESS(x, y)      _mm512_cmp_pd_mask((x), (y), _CMP_LT_OQ)
#  define SELECT(m, x, y) _mm512_mask_blend_pd((m), (y), (x))
#  define MIN(x, y)       _mm512_min_pd((x), (y))
#  define MAX(x, y)       _mm512_max_pd((x), (y))
#  define ALL(x)          _mm512_set1_pd(x)
#else
typedef ints mask;
#  define LESS(x, y)      ((ints)((x) < (y)))
#  define SELECT(m, x, y) ((vec)(((ints)(x) & (m)) | ((ints)(y) & ~(m))))
#  if LANES == 4
#    define ALL(x) ((vec){(x), (x), (x), (x)})
#  else
#    define ALL(x) ((vec){(x), (x)})
#  endif
// As the instructions of x86 do it: y where neither is less
#  if LANES == 4
#    define MIN(x, y) _mm256_min_pd((x), (y))
#    define MAX(x, y) _mm256_max_pd((x), (y))
#  elif defined(__SSE2__)
#    define MIN(x, y) _mm_min_pd((x), (y))
#    define MAX(x, y) _mm_max_pd((x), (y))
#  else
#    define MIN(x, y) SELECT(LESS(x, y), x, y)
#    define MAX(x, y) SELECT(LESS(y, x), x, y)
#  endif
#endif

/// Lane `i` (a constant) of a group, in all lanes
#if LANES == 2
#  define SPREAD(x, i, y)                                                   \
    do {                                                                    \
      (y)->v[0] = __builtin_shufflevector((x)->v[(i) / 2], (x)->v[(i) / 2], \
                                          (i) % 2, (i) % 2);                \
      (y)->v[1] = (y)->v[0];                                                \
    } while (0)
#else
#  define SPREAD(x, i, y) \
    ((y)->v[0] = PICK((x)->v[0], (x)->v[0], (i), (i), (i), (i)))
#endif

/// A group one sample later, with the last sample of `before` in front
INLINE void
behind(const group* before, const group* x, group* y)
{
#if LANES == 2
  const vec second = __builtin_shufflevector(x->v[0], x->v[1], 1, 2);
  y->v[0]          = __builtin_shufflevector(before->v[1], x->v[0], 1, 2);
  y->v[1]          = second;
#else
  y->v[0]        = PICK(before->v[0], x->v[0], 3, OTHER, OTHER + 1, OTHER + 2);
#endif
}

/// Sums up to each sample
INLINE void
running_sum(const group* x, group* y)
{
#if LANES == 2
  const vec none   = ALL(0.0);
  const vec second = __builtin_shufflevector(x->v[0], x->v[1], 1, 2);
  const vec low    = x->v[0] + __builtin_shufflevector(none, x->v[0], 0, 2);
  y->v[1]          = (x->v[1] + second) + low;
  y->v[0]          = low;
#else
  const vec none = ALL(0.0);
  const vec two = x->v[0] + PICK(none, x->v[0], 0, OTHER, OTHER + 1, OTHER + 2);
  y->v[0]       = two + PICK(none, two, 0, 1, OTHER, OTHER + 1);
#endif
}

/// The sum of a group, in all lanes: sooner there than from the sums above
INLINE void
total_of(const group* x, group* y)
{
#if LANES == 2
  group two;
  EACH(h)
  {
    two.v[h] = x->v[h] + __builtin_shufflevector(x->v[h], x->v[h], 1, 0);
  }
  y->v[0] = y->v[1] = two.v[0] + two.v[1];
#else
  const vec two = x->v[0] + PICK(x->v[0], x->v[0], 1, 0, 3, 2);
  y->v[0]       = two + PICK(two, two, 2, 3, 0, 1);
#endif
}

/// First and second numbers of the pairs in two groups, in turn:  x0, y0, x2,
/// y2 and x1, y1, x3, y3
INLINE void
split(const group* x, const group* y, group* first, group* second)
{
#if LANES == 2
  EACH(h)
  {
    first->v[h]  = __builtin_shufflevector(x->v[h], y->v[h], 0, 2);
    second->v[h] = __builtin_shufflevector(x->v[h], y->v[h], 1, 3);
  }
#else
  first->v[0]   = PICK(x->v[0], y->v[0], 0, OTHER, 2, OTHER + 2);
  second->v[0]  = PICK(x->v[0], y->v[0], 1, OTHER + 1, 3, OTHER + 3);
#endif
}

/// Sums of two groups, in turn in all lanes
INLINE void
sums_of_two(const group* x, const group* y, group* sums)
{
  group first, second;
  split(x, y, &first, &second);
  EACH(h)
  {
    first.v[h] += second.v[h];
  }
#if LANES == 2
  sums->v[0] = sums->v[1] = first.v[0] + first.v[1];
#else
  sums->v[0]    = first.v[0] + PICK(first.v[0], first.v[0], 2, 3, 0, 1);
#endif
}

/// Sums of two groups, in lanes 0 and 1, and in lane 3 that of `z`
INLINE void
join_sums(const group* x, const group* y, const group* z, group* sums)
{
  sums_of_two(x, y, sums);
#if LANES == 2
  sums->v[1] = z->v[1];
#else
  sums->v[0]    = PICK(sums->v[0], z->v[0], 0, 1, 2, OTHER + 3);
#endif
}

/// Each lane and its neighbour in a pair, in both
INLINE void
add_neighbours(const group* x, group* y)
{
  EACH(h)
  {
#if LANES == 2
    y->v[h] = x->v[h] + __builtin_shufflevector(x->v[h], x->v[h], 1, 0);
#else
    y->v[h]       = x->v[h] + PICK(x->v[h], x->v[h], 1, 0, 3, 2);
#endif
  }
}

/// Rows to columns: y[i] are numbers i of x[0] to x[3]
INLINE void
transpose(const group* x, group* y)
{
  group low[2], high[2];
  split(&x[0], &x[1], &low[0], &high[0]);
  split(&x[2], &x[3], &low[1], &high[1]);
  for (size_t i = 0; i < 2; ++i) {
    const group* const p = i ? high : low;
#if LANES == 2
    y[i].v[0]     = p[0].v[0];
    y[i].v[1]     = p[1].v[0];
    y[i + 2].v[0] = p[0].v[1];
    y[i + 2].v[1] = p[1].v[1];
#else
    y[i].v[0]     = PICK(p[0].v[0], p[1].v[0], 0, 1, OTHER, OTHER + 1);
    y[i + 2].v[0] = PICK(p[0].v[0], p[1].v[0], 2, 3, OTHER + 2, OTHER + 3);
#endif
  }
}

/// The numbers at `from`, four for each group in a vector
INLINE void
load_groups(const double* const* from, group* x)
{
#if LANES == 8
  x->v[0] = _mm512_insertf64x4(_mm512_castpd256_pd512(_mm256_loadu_pd(from[0])),
                               _mm256_loadu_pd(from[1]), 1);
#else
  typedef vec at_8 __attribute__((aligned(8)));
  EACH(h)
  {
    x->v[h] = *(const at_8*)(from[0] + LANES * h);
  }
#endif
}

/// Number `i` there, in all lanes
INLINE vec
all_of(const double* const* from, uint32_t i)
{
#if LANES == 8
  return _mm512_insertf64x4(_mm512_set1_pd(from[0][i]),
                            _mm256_set1_pd(from[1][i]), 1);
#else
  return ALL(from[0][i]);
#endif
}

INLINE void
store_groups(const group* x, double* const* to)
{
#if LANES == 8
  _mm256_storeu_pd(to[0], _mm512_castpd512_pd256(x->v[0]));
  _mm256_storeu_pd(to[1], _mm512_extractf64x4_pd(x->v[0], 1));
#else
  typedef vec at_8 __attribute__((aligned(8)));
  EACH(h)
  {
    *(at_8*)(to[0] + LANES * h) = x->v[h];
  }
#endif
}

#endif // COMMON_TUBE_TUBE_GAIN_LANES_H
