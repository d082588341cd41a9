// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One polarisation of a string as a digital waveguide.
///
/// One delay line holds both directions: a wave is written as it leaves the far
/// end, is at the bridge half the line later, and comes back to the far end
/// after the whole line.  The bridge turns it over, so the part of the line
/// beyond the middle holds the wave with its sign changed, and the far end
/// turns it back.  Losses and stiffness of one period sit at the far end.
///
/// Real-time safe, though that is not needed here.

#ifndef PRESETS_DEMO_GUITAR_STRING_WAVE_H
#define PRESETS_DEMO_GUITAR_STRING_WAVE_H

#include "string_filters.h"

#define STRING_LINE_FRAMES 1024 ///< A power of two
#define STRING_LINE_MASK   (STRING_LINE_FRAMES - 1U)

typedef struct {
  double      line[STRING_LINE_FRAMES];
  double      in[2][MAX_SECTIONS + 1]; ///< Of the all-passes, this frame, next
  double      s1[MAX_SECTIONS], s2[MAX_SECTIONS];
  double      low[LOSS_SHELVES];
  loss_filter loss, loss_step;   ///< Now, and change per frame
  double      delay, delay_step; ///< Length of the line
  double      level2;            ///< Mean square over some 15 ms
} string_wave;

/// Frames that the chain of all-passes adds to its own phase delay
static inline double
string_wave_chain_frames(const dispersion_filter* d)
{
  return d->n - 1.0;
}

// Lagrange weights for a delay of i + f frames, 0 <= f < 1, at the four points
// i - 1 .. i + 2
static inline void
string_wave_weights(double f, double* h)
{
  h[0] = -f * (f - 1.0) * (f - 2.0) * (1.0 / 6.0);
  h[1] = (f + 1.0) * (f - 1.0) * (f - 2.0) * 0.5;
  h[2] = -(f + 1.0) * f * (f - 2.0) * 0.5;
  h[3] = (f + 1.0) * f * (f - 1.0) * (1.0 / 6.0);
}

/// Returns the delay at which the wave passes a point `tap` frames from the
/// bridge, on the way there or (`tap` negative) back.  Stays within the line,
/// whatever the hands do.
static inline double
string_wave_at(const string_wave* w, double tap)
{
  const double middle = 0.5 * w->delay;
  const double at     = middle - tap;
  return at < 2.0 ? 2.0 : at > w->delay - 2.0 ? w->delay - 2.0 : at;
}

/// Reads the line as it was `delay` frames ago
static inline double
string_wave_read(const string_wave* w, uint32_t at, double delay)
{
  const uint32_t i = (uint32_t)delay;
  const uint32_t p = at - i;
  double         h[4];
  string_wave_weights(delay - i, h);
  return h[0] * w->line[(p + 1) & STRING_LINE_MASK] +
         h[1] * w->line[p & STRING_LINE_MASK] +
         h[2] * w->line[(p - 1) & STRING_LINE_MASK] +
         h[3] * w->line[(p - 2) & STRING_LINE_MASK];
}

/// Adds to the line there: the transpose of reading
static inline void
string_wave_add(string_wave* w, uint32_t at, double delay, double x)
{
  const uint32_t i = (uint32_t)delay;
  const uint32_t p = at - i;
  double         h[4];
  string_wave_weights(delay - i, h);
  w->line[(p + 1) & STRING_LINE_MASK] += h[0] * x;
  w->line[p & STRING_LINE_MASK] += h[1] * x;
  w->line[(p - 1) & STRING_LINE_MASK] += h[2] * x;
  w->line[(p - 2) & STRING_LINE_MASK] += h[3] * x;
}

// Six points: within 0.1 % of flat up to 8 kHz, which matters in a loop
static inline double
string_wave_read_end(const string_wave* w, uint32_t at)
{
  const uint32_t i = (uint32_t)w->delay;
  const double   f = w->delay - i;
  const double   a = f + 2.0;
  const double   b = f + 1.0;
  const double   c = f - 1.0;
  const double   d = f - 2.0;
  const double   e = f - 3.0;
  const double*  l = w->line;
  const uint32_t p = at - i;
  return l[(p + 2) & STRING_LINE_MASK] * (b * f * c * d * e * (-1.0 / 120.0)) +
         l[(p + 1) & STRING_LINE_MASK] * (a * f * c * d * e * (1.0 / 24.0)) +
         l[p & STRING_LINE_MASK] * (a * b * c * d * e * (-1.0 / 12.0)) +
         l[(p - 1) & STRING_LINE_MASK] * (a * b * f * d * e * (1.0 / 12.0)) +
         l[(p - 2) & STRING_LINE_MASK] * (a * b * f * c * e * (-1.0 / 24.0)) +
         l[(p - 3) & STRING_LINE_MASK] * (a * b * f * c * d * (1.0 / 120.0));
}

// Each all-pass takes its predecessor's output of a frame ago, so that all of
// them are computed in parallel; the line is shorter by those frames
static inline double
string_wave_disperse(string_wave*             w,
                     const dispersion_filter* d,
                     uint32_t                 at,
                     double                   x)
{
  double* restrict now  = w->in[at & 1U];
  double* restrict next = w->in[(at + 1U) & 1U];
  double* restrict s1   = w->s1;
  double* restrict s2   = w->s2;
  now[0]                = x;
  for (uint32_t i = 0; i < d->n; ++i) {
    const double y = d->a2[i] * now[i] + s1[i];
    s1[i]          = d->a1[i] * (now[i] - y) + s2[i];
    s2[i]          = now[i] - d->a2[i] * y;
    next[i + 1]    = y;
  }
  return next[d->n];
}

/// Runs one frame: writes what returns from the far end at `at`, which counts
/// frames
static inline void
string_wave_circulate(string_wave* w, const dispersion_filter* d, uint32_t at)
{
  double x = w->loss.gain * string_wave_read_end(w, at);
  for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
    w->low[i] += w->loss.share[i] * (x - w->low[i]);
    x -= w->loss.depth[i] * (x - w->low[i]);
    w->loss.depth[i] += w->loss_step.depth[i];
    w->loss.share[i] += w->loss_step.share[i];
  }
  x = string_wave_disperse(w, d, at, x);

  w->line[at & STRING_LINE_MASK] = x;
  w->level2 += 0.0015 * (x * x - w->level2);
  w->loss.gain += w->loss_step.gain;
  w->delay += w->delay_step;
}

#endif // PRESETS_DEMO_GUITAR_STRING_WAVE_H
