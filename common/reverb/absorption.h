// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The losses of a reverberant sound on its way, in three bands.
///
/// A space is described by its reverberation times; a path of some length then
/// costs 60 dB times the share of the reverberation time that it takes.  Two
/// first-order shelves give that loss.  Their shape in dB is proportional to
/// the gain only as long as the loss is small: at 4 dB between two bands a line
/// would ring 2 % longer or shorter than others.  So the gains and frequencies
/// of the shelves are corrected until paths of all lengths decay by the same
/// law, within 0.1 % from 125 Hz to 4 kHz while no shelf does more than 8 dB;
/// beyond that the correction fades out.  They run four lanes (lines, channels)
/// at a time and may move.
///
/// Proportional losses: J.-M. Jot, A. Chaigne, 90th AES Convention (1991), from
/// memory; shelves that are half-way, in dB, at their frequency, and their
/// corrections: computed.  All real-time safe.

#ifndef COMMON_REVERB_ABSORPTION_H
#define COMMON_REVERB_ABSORPTION_H

#include "common/core/dsp.h"
#include "common/core/lanes.h"

/// ln(10^3): a reverberation time is a decay by that much
#define DECAY_NEPERS 6.9077552789821370521

/// Times to -60 dB below `low_hz`, between, and above `high_hz`
typedef struct {
  double low_s, mid_s, high_s;
  double low_hz, high_hz;
} decay_law;

/// Returns the time to -60 dB at one frequency, for short paths
double
decay_law_s(const decay_law* law, double f_hz);

/// Two filters in series, each y = d x + s, s' = p s + c x
typedef struct {
  double low_d, low_c, low_p;
  double high_d, high_c, high_p;
} absorption;

/// Settings of the shelves for one law at one rate
typedef struct {
  double low, high; ///< tan(pi f / rate) of their frequencies

  // Corrections for a path of `longest_s`: nepers per neper of a reverberation
  // time, and ln of the ratio by which the frequencies move
  double longest_s;
  double mid_rate, low_rate, high_rate;
  double low_shift, high_shift;
} absorption_fit;

/// Returns the settings for paths up to `longest_s`.  Costs about as much as
/// 100 exponentials.
absorption_fit
absorption_fit_of(const decay_law* law, double rate_hz, double longest_s);

static inline bool
decay_law_equal(const decay_law* a, const decay_law* b)
{
  return a->low_s == b->low_s && a->mid_s == b->mid_s &&
         a->high_s == b->high_s && a->low_hz == b->low_hz &&
         a->high_hz == b->high_hz;
}

/// Returns the loss of a path that takes `path_s`.  Costs a few exponentials.
absorption
absorption_of(const decay_law* law, const absorption_fit* fit, double path_s);

// ---------------------------------------------------------------------------
// Four at a time

typedef struct {
  f32x4 low_d, low_c, low_p;
  f32x4 high_d, high_c, high_p;
} loss_lanes;

/// Memory of the filters
typedef struct {
  f32x4 low, high;
} loss_memory;

/// Gives lane `k` the loss `a`, times `gain`
void
loss_set_lane(loss_lanes* l, uint32_t k, const absorption* a, double gain);

/// Writes the step per frame that leads from `from` to `to` in `frames`.  False
/// if they are the same.
bool
loss_step_between(const loss_lanes* from,
                  const loss_lanes* to,
                  uint32_t          frames,
                  loss_lanes*       step);

static inline void
loss_step(loss_lanes* l, const loss_lanes* step)
{
  l->low_d += step->low_d;
  l->low_c += step->low_c;
  l->low_p += step->low_p;
  l->high_d += step->high_d;
  l->high_c += step->high_c;
  l->high_p += step->high_p;
}

/// Filters one frame
static inline f32x4
loss_next(const loss_lanes* l, loss_memory* m, f32x4 x)
{
  const f32x4 y = l->low_d * x + m->low;
  m->low        = l->low_p * m->low + l->low_c * x;
  const f32x4 z = l->high_d * y + m->high;
  m->high       = l->high_p * m->high + l->high_c * y;
  return z;
}

#endif // COMMON_REVERB_ABSORPTION_H
