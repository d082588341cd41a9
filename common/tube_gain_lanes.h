// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The samples of a group as vectors, LANES (2 or 4) wide.  No guard:
// tube_gain_run.c includes this once per width, with NAME(x) defined.  Both
// make the same bits.

#define N_VECS (TUBE_GROUP_MAX / LANES)

typedef double  NAME(vec) __attribute__((vector_size(8 * LANES), may_alias));
typedef int64_t NAME(mask) __attribute__((vector_size(8 * LANES), may_alias));
typedef int32_t NAME(cells) __attribute__((vector_size(4 * LANES), may_alias));

typedef double
  NAME(vec_at_8) __attribute__((vector_size(8 * LANES), may_alias, aligned(8)));

#define vec  NAME(vec)
#define mask NAME(mask)

/// One value per sample of a group
typedef struct {
  vec v[N_VECS];
} NAME(group);

typedef struct {
  mask v[N_VECS];
} NAME(masks);

#define group NAME(group)

// NOLINTNEXTLINE(bugprone-macro-parentheses): a name
#define EACH(h) for (size_t h = 0; h < N_VECS; ++h)

#define SELECT(m, x, y) ((vec)(((mask)(x) & (m)) | ((mask)(y) & ~(m))))

#if LANES == 4
#  define ALL(x) ((vec){(x), (x), (x), (x)})
#else
#  define ALL(x) ((vec){(x), (x)})
#endif

/// Two pairs in a row
INLINE void
NAME(join)(pair first, pair second, group* x)
{
#if LANES == 4
  x->v[0] = __builtin_shufflevector(first, second, 0, 1, 2, 3);
#else
  x->v[0]          = first;
  x->v[1]          = second;
#endif
}

/// `n` samples from and to memory.  Whole vectors where possible: the stores of
/// parts would have to leave the processor before they could be read as one.
INLINE void
NAME(load)(const double* x, group* g, size_t n)
{
  EACH(h)
  {
    if (n >= LANES * (h + 1)) {
      g->v[h] = *(const NAME(vec_at_8)*)(x + LANES * h);
    } else {
      for (size_t k = 0; k < LANES; ++k) {
        g->v[h][k] = LANES * h + k < n ? x[LANES * h + k] : 0.0;
      }
    }
  }
}

INLINE void
NAME(store)(const group* g, double* x, size_t n)
{
  EACH(h)
  {
    if (n >= LANES * (h + 1)) {
      *(NAME(vec_at_8)*)(x + LANES * h) = g->v[h];
    } else {
      for (size_t k = 0; k < LANES && LANES * h + k < n; ++k) {
        x[LANES * h + k] = g->v[h][k];
      }
    }
  }
}

/// A group one sample later, with `first` in front
INLINE void
NAME(behind)(double first, const group* x, group* y)
{
#if LANES == 4
  y->v[0] = __builtin_shufflevector(x->v[0], ALL(first), 4, 0, 1, 2);
#else
  const vec second = {x->v[0][1], x->v[1][0]};
  y->v[0]          = (vec){first, x->v[0][0]};
  y->v[1]          = second;
#endif
}

/// The same with the last sample of a group of `n` in front
INLINE void
NAME(behind_last)(const double* last, uint32_t n, const group* x, group* y)
{
#if LANES == 4
  if (n == LANES) {
    const vec before = *(const NAME(vec_at_8)*)last;
    y->v[0]          = __builtin_shufflevector(before, x->v[0], 3, 4, 5, 6);
    return;
  }
#endif
  NAME(behind)(last[n - 1], x, y);
}

/// A group two samples later, with 0 in front
INLINE void
NAME(two_behind)(const group* x, group* y)
{
#if LANES == 4
  y->v[0] = __builtin_shufflevector(x->v[0], ALL(0.0), 4, 4, 0, 1);
#else
  y->v[1]          = x->v[0];
  y->v[0]          = ALL(0.0);
#endif
}

/// Sums up to each sample
INLINE void
NAME(running_sum)(const group* x, group* y)
{
  group shifted;
  NAME(behind)(0.0, x, &shifted);
  EACH(h)
  {
    y->v[h] = x->v[h] + shifted.v[h];
  }
  NAME(two_behind)(y, &shifted);
  EACH(h)
  {
    y->v[h] += shifted.v[h];
  }
}

INLINE double
NAME(lane)(const group* x, uint32_t i)
{
  return x->v[i / LANES][i % LANES];
}

/// 0 for all but the first `n` samples
INLINE void
NAME(keep)(group* x, uint32_t n)
{
  for (uint32_t i = n; i < TUBE_GROUP_MAX; ++i) {
    x->v[i / LANES][i % LANES] = 0.0;
  }
}

/// Both halves of two groups added:  x0 + x2, x1 + x3, y0 + y2, y1 + y3
INLINE void
NAME(fold)(const group* x, const group* y, group* sum)
{
#if LANES == 4
  sum->v[0] = __builtin_shufflevector(x->v[0], y->v[0], 0, 1, 4, 5) +
              __builtin_shufflevector(x->v[0], y->v[0], 2, 3, 6, 7);
#else
  sum->v[0]        = x->v[0] + x->v[1];
  sum->v[1]        = y->v[0] + y->v[1];
#endif
}

/// First and second numbers of the pairs in two groups, in turn:  x0, y0, x2,
/// y2 and x1, y1, x3, y3
INLINE void
NAME(split)(const group* x, const group* y, group* first, group* second)
{
#if LANES == 4
  first->v[0]  = __builtin_shufflevector(x->v[0], y->v[0], 0, 4, 2, 6);
  second->v[0] = __builtin_shufflevector(x->v[0], y->v[0], 1, 5, 3, 7);
#else
  EACH(h)
  {
    first->v[h]  = __builtin_shufflevector(x->v[h], y->v[h], 0, 2);
    second->v[h] = __builtin_shufflevector(x->v[h], y->v[h], 1, 3);
  }
#endif
}

/// Sums of three groups; the fourth is 0
INLINE void
NAME(totals)(const group* x, const group* y, const group* z, group* sum)
{
  group none, first, second, xy, z0;
  EACH(h)
  {
    none.v[h] = ALL(0.0);
  }
  NAME(split)(x, y, &first, &second);
  EACH(h)
  {
    xy.v[h] = first.v[h] + second.v[h];
  }
  NAME(split)(z, &none, &first, &second);
  EACH(h)
  {
    z0.v[h] = first.v[h] + second.v[h];
  }
  NAME(fold)(&xy, &z0, sum);
}
