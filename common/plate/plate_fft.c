// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_fft.h"

#include "common/core/lanes.h"

#include <string.h>

#define N       ((size_t)PLATE_FFT_SIZE)
#define LANES   4
#define N_INNER (N / LANES)

/// The four transforms: point j of lane l is point 4 j + l of the whole
typedef struct {
  f32x4 re[N_INNER], im[N_INNER];
} inner;

void
plate_fft_init(plate_fft* f)
{
  for (uint32_t k = 0; k < PLATE_FFT_SIZE; ++k) {
    const double turn = 2.0 * DSP_PI * k / PLATE_FFT_SIZE;
    f->re[k]          = (float)steady_cos(turn);
    f->im[k]          = (float)-steady_sin(turn);
  }
}

typedef struct {
  f32x4 re, im;
} point;

static inline point
turned(point a, float re, float im)
{
  return (point){a.re * re - a.im * im, a.re * im + a.im * re};
}

/// Radix 4: `count` transforms of `n` points become 4 * count of n / 4
static void
pass_4(const plate_fft* f, const inner* x, inner* y, size_t n, size_t count)
{
  const size_t quarter = n / 4;
  for (size_t p = 0; p < quarter; ++p) {
    const size_t w = p * (N / n);
    for (size_t q = 0; q < count; ++q) {
      const size_t i0 = q + count * p;
      const size_t i1 = i0 + count * quarter;
      const size_t i2 = i1 + count * quarter;
      const size_t i3 = i2 + count * quarter;
      const point  s  = {x->re[i0] + x->re[i2], x->im[i0] + x->im[i2]};
      const point  d  = {x->re[i0] - x->re[i2], x->im[i0] - x->im[i2]};
      const point  t  = {x->re[i1] + x->re[i3], x->im[i1] + x->im[i3]};
      const point  e  = {x->im[i1] - x->im[i3], x->re[i3] - x->re[i1]};

      const point y1 =
        turned((point){d.re + e.re, d.im + e.im}, f->re[w], f->im[w]);
      const point y2 =
        turned((point){s.re - t.re, s.im - t.im}, f->re[2 * w], f->im[2 * w]);
      const point y3 =
        turned((point){d.re - e.re, d.im - e.im}, f->re[3 * w], f->im[3 * w]);

      const size_t o       = q + 4 * count * p;
      y->re[o]             = s.re + t.re;
      y->im[o]             = s.im + t.im;
      y->re[o + count]     = y1.re;
      y->im[o + count]     = y1.im;
      y->re[o + 2 * count] = y2.re;
      y->im[o + 2 * count] = y2.im;
      y->re[o + 3 * count] = y3.re;
      y->im[o + 3 * count] = y3.im;
    }
  }
}

/// The last pass: radix 2, no factors
static void
pass_2(const inner* x, inner* y)
{
  const size_t half = N_INNER / 2;
  for (size_t q = 0; q < half; ++q) {
    y->re[q]        = x->re[q] + x->re[q + half];
    y->im[q]        = x->im[q] + x->im[q + half];
    y->re[q + half] = x->re[q] - x->re[q + half];
    y->im[q + half] = x->im[q] - x->im[q + half];
  }
}

/// Joins the lanes: X[k + 128 j] = sum over l of w^(l k) (-i)^(l j) Y_l[k]
static void
join(const plate_fft* f, const inner* x, float* re, float* im)
{
  for (size_t k = 0; k < N_INNER; ++k) {
    const f32x4 w_re = {1.0F, f->re[k], f->re[2 * k], f->re[3 * k]};
    const f32x4 w_im = {0.0F, f->im[k], f->im[2 * k], f->im[3 * k]};
    const f32x4 a    = x->re[k] * w_re - x->im[k] * w_im;
    const f32x4 b    = x->re[k] * w_im + x->im[k] * w_re;

    const float s_re    = a[0] + a[2];
    const float s_im    = b[0] + b[2];
    const float d_re    = a[0] - a[2];
    const float d_im    = b[0] - b[2];
    const float t_re    = a[1] + a[3];
    const float t_im    = b[1] + b[3];
    const float e_re    = b[1] - b[3];
    const float e_im    = a[3] - a[1];
    re[k]               = s_re + t_re;
    im[k]               = s_im + t_im;
    re[k + N_INNER]     = d_re + e_re;
    im[k + N_INNER]     = d_im + e_im;
    re[k + 2 * N_INNER] = s_re - t_re;
    im[k + 2 * N_INNER] = s_im - t_im;
    re[k + 3 * N_INNER] = d_re - e_re;
    im[k + 3 * N_INNER] = d_im - e_im;
  }
}

static void
transform(const plate_fft* f, float* re, float* im)
{
  inner a;
  inner b;
  memcpy(a.re, re, sizeof(a.re));
  memcpy(a.im, im, sizeof(a.im));
  pass_4(f, &a, &b, 128, 1);
  pass_4(f, &b, &a, 32, 4);
  pass_4(f, &a, &b, 8, 16);
  pass_2(&b, &a);
  join(f, &a, re, im);
}

void
plate_fft_forward(const plate_fft* f, plate_spectrum* x)
{
  transform(f, x->re, x->im);
}

void
plate_fft_backward(const plate_fft* f, plate_spectrum* x)
{
  transform(f, x->im, x->re); // Swapped parts reverse the transform
}
