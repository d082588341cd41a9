// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "detail_lift.h"

#include "common/filters/eq.h"

#define DETECTOR_LOW_CUT_HZ 120.0
#define AVERAGE_S           0.010
#define STEADY_S            0.060

// Power that the high-pass takes from a tone of 440 Hz, half of it made up for,
// so that from there on a tone reads within 0.012 dB
#define STEADY_READS (1.0 + 0.5 * 0.0055)

#define RELEASE_S 0.060 // Of the power: 72 dB of level in a second
#define DOWN_S    0.0016
#define UP_S      0.020

// Playing at -18 dBFS RMS carries its loudness at this level of the detector
// (computed: the mean over plucked-string takes, within 1 dB)
#define PLAYING_DBFS (-16.5)

// Below this threshold loud playing gains less than 0.4 dB at any lift
#define UNCOMPENSATED_DBFS (-36.0)

void
detail_lift_init(detail_lift* l, double rate_hz, uint32_t n_channels)
{
  const biquad q =
    eq_high_pass(DETECTOR_LOW_CUT_HZ, eq_butterworth_q(2, 0), rate_hz);
  l->detector = (detail_detector){
    .b0      = q.b0,
    .b1      = q.b1,
    .b2      = q.b2,
    .a1      = q.a1,
    .a2      = q.a2,
    .average = one_pole_share(AVERAGE_S, rate_hz),
    .release = one_pole_share(RELEASE_S, rate_hz),
    .slow    = STEADY_READS * one_pole_share(STEADY_S, rate_hz),
    .stay    = 1.0 - one_pole_share(STEADY_S, rate_hz),
  };
  l->down        = (float)one_pole_share(DOWN_S, rate_hz);
  l->up          = (float)one_pole_share(UP_S, rate_hz);
  l->glide_share = glide_share(rate_hz);
  l->n_channels  = n_channels;
}

void
detail_lift_set(detail_lift* l,
                double       lift_db,
                double       below_db,
                double       floor_db)
{
  glide_set(&l->lift_db, lift_db);
  glide_set(&l->below_db, below_db);
  glide_set(&l->floor_db, floor_db);
}

/// Share of the lift that playing at the alignment level keeps: c there
static double
playing_share(double below_db)
{
  return 1.0 / (1.0 + db_to_gain(2.0 * (PLAYING_DBFS - below_db)));
}

/// Derives the coefficients from where the glides are
static void
derive(detail_lift* l)
{
  const double k = db_to_gain(l->lift_db.y) - 1.0;
  const double t = db_to_gain(l->below_db.y);
  const double f = db_to_gain(l->floor_db.y);
  l->k           = k;
  l->t2          = t * t;
  l->f4          = (float)(f * f * f * f * (k > 1.0 ? k : 1.0));

  const double free_db = fmin(l->below_db.y, UNCOMPENSATED_DBFS);
  l->compensation      = (1.0 + k * playing_share(free_db)) /
                    (1.0 + k * playing_share(l->below_db.y));
}

void
detail_lift_reset(detail_lift* l)
{
  glide_snap(&l->lift_db);
  glide_snap(&l->below_db);
  glide_snap(&l->floor_db);
  derive(l);
  ramp_snap(&l->threshold, l->t2);
  ramp_snap(&l->base, l->compensation);
  ramp_snap(&l->amount, l->compensation * l->k);

  detail_detector* const d = &l->detector;
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    d->s1[k] = d->s2[k] = 0.0;
  }
  d->power = d->held = d->steady = 0.0;
  l->share                       = 0.0F;
}

void
detail_lift_control(detail_lift* l)
{
  if (l->lift_db.moving || l->below_db.moving || l->floor_db.moving) {
    glide_next(&l->lift_db, l->glide_share);
    glide_next(&l->below_db, l->glide_share);
    glide_next(&l->floor_db, l->glide_share);
    derive(l);
  }
  ramp_push(&l->threshold, l->t2);
  ramp_push(&l->base, l->compensation);
  ramp_push(&l->amount, l->compensation * l->k);
}

/// Returns the square of one frame of channel `k`, high-passed
static inline double
square_next(detail_detector* d, uint32_t k, float in)
{
  const double x = (double)in;
  const double y = d->b0 * x + d->s1[k];
  d->s1[k]       = (d->b1 * x + d->s2[k]) - d->a1 * y;
  d->s2[k]       = d->b2 * x - d->a2 * y;
  return y * y;
}

/// Detects both power levels of each frame.  All recursions share one loop, so
/// that they wait at the same time.
static inline void
detect(detail_detector*    state,
       const float* const* in,
       uint32_t            n_channels,
       float*              level,
       float*              steady,
       uint32_t            n)
{
  detail_detector d    = *state; // Local, to stay in registers
  const double    keep = 1.0 - d.average;
  const double    fall = 1.0 - d.release;
  for (uint32_t i = 0; i < n; ++i) {
    double square = square_next(&d, 0, in[0][i]);
    if (n_channels > 1) {
      const double other = square_next(&d, 1, in[1][i]);
      square             = square > other ? square : other;
    }
    d.power               = keep * d.power + d.average * square;
    const double released = fall * d.held;
    d.held                = d.power > released ? d.power : released;
    level[i]              = (float)d.held;
    d.steady              = d.stay * d.steady + d.slow * square;
    steady[i]             = (float)d.steady;
  }
  *state = d;
}

void
detail_lift_gains(detail_lift*        l,
                  const float* const* in,
                  float*              gain,
                  uint32_t            n)
{
  float level[CONTROL_FRAMES];
  float steady[CONTROL_FRAMES];
  if (l->n_channels == 1) {
    detect(&l->detector, in, 1, level, steady, n);
  } else {
    detect(&l->detector, in, 2, level, steady, n);
  }

  float t2[CONTROL_FRAMES];
  float share[CONTROL_FRAMES];
  ramp_values(&l->threshold, t2, n);
  for (uint32_t i = 0; i < n; ++i) {
    share[i] = detail_lift_share(level[i], steady[i], t2[i], l->f4);
  }

  float base[CONTROL_FRAMES];
  float amount[CONTROL_FRAMES];
  ramp_values(&l->base, base, n);
  ramp_values(&l->amount, amount, n);
  // The lower of the two one-poles: fast down, slow up
  const float down = l->down;
  const float up   = l->up;
  float       z    = l->share;
  for (uint32_t i = 0; i < n; ++i) {
    const float fast = (1.0F - down) * z + down * share[i];
    const float slow = (1.0F - up) * z + up * share[i];
    z                = fast < slow ? fast : slow;
    gain[i]          = base[i] + amount[i] * z;
  }
  l->share = z;
}

double
detail_lift_now_db(const detail_lift* l)
{
  return gain_to_db(1.0 + l->k * (double)l->share);
}
