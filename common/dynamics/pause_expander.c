// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "pause_expander.h"

#include "common/core/fastmath.h"
#include "gain_computer.h"

#include <string.h>

#define KEY_LOW_HZ  70.0
#define KEY_HIGH_HZ 2000.0

#define FAST_S      0.002
#define SLOW_S      0.015
#define FAST_COUNTS 0.25 // 6 dB lower

#define PLAY_POWER 2.5118864315095801 // 4 dB
#define SLOPE      2.0F               // 1:3
#define KNEE_DB    6.0F
#define LOWEST     1e-14F // Power, -140 dBFS, for the logarithm

#define HOLD_S        0.075 // Of one of two spans
#define FALL_DB_PER_S 100.0
#define OPEN_S        0.00012

static inline float
reduction_db(float under_db, float pause_db)
{
  const float all =
    gain_computer_reduction_db(under_db - 0.5F * KNEE_DB, SLOPE, KNEE_DB);
  return all < pause_db ? all : pause_db;
}

float
pause_expander_reduction_db(float under_db, float pause_db)
{
  return reduction_db(under_db, pause_db);
}

void
pause_expander_init(pause_expander* e, double rate_hz, uint32_t n_channels)
{
  const double q = eq_butterworth_q(2, 0);
  memset(e, 0, sizeof(*e));
  e->n_channels  = n_channels;
  e->hold_frames = (uint32_t)lrint(HOLD_S * rate_hz);
  e->glide_share = glide_share(rate_hz);
  e->fast        = one_pole_share(FAST_S, rate_hz);
  e->slow        = one_pole_share(SLOW_S, rate_hz);
  e->fall        = db_to_gain(-FALL_DB_PER_S / rate_hz);
  e->open        = one_pole_share(OPEN_S, rate_hz);
  svf_snap(&e->key[0], eq_high_pass(KEY_LOW_HZ, q, rate_hz));
  svf_snap(&e->key[1], eq_low_pass(KEY_HIGH_HZ, q, rate_hz));
}

void
pause_expander_set(pause_expander* e, double pause_db, double below_db)
{
  glide_set(&e->pause_db, pause_db);
  glide_set(&e->below_db, below_db);
}

/// Forgets the signal; `gain` until there is one
static void
forget(pause_expander* e, double gain)
{
  svf_reset(&e->key[0]);
  svf_reset(&e->key[1]);
  e->fast_power = e->slow_power = e->level = 0.0;
  e->y1 = e->y = gain;
  e->hold      = (pause_hold){gain, gain, gain, e->hold_frames};
}

void
pause_expander_reset(pause_expander* e)
{
  glide_snap(&e->pause_db);
  glide_snap(&e->below_db);
  ramp_snap(&e->range, e->pause_db.y);
  ramp_snap(&e->threshold, e->below_db.y);
  e->is_on = e->pause_db.y > 0.0;
  forget(e, db_to_gain(-e->pause_db.y));
}

void
pause_expander_control(pause_expander* e)
{
  if (!e->is_on && e->pause_db.moving) {
    forget(e, 1.0); // The range starts at 0: closed or open is the same there
    e->is_on = true;
  }
  glide_next(&e->pause_db, e->glide_share);
  glide_next(&e->below_db, e->glide_share);
  if (e->is_on) {
    const bool moves = ramp_push(&e->range, e->pause_db.y);
    (void)ramp_push(&e->threshold, e->below_db.y);
    e->is_on = moves || e->pause_db.moving || e->pause_db.y > 0.0;
  } else {
    ramp_snap(&e->threshold, e->below_db.y);
  }
}

/// Writes the power level that decides, behind the play.  All recursions share
/// one loop, so that they wait at the same time.
static void
detect(pause_expander* e, const f64x2* key, float* level, uint32_t n)
{
  const double fast_stay = 1.0 - e->fast;
  const double slow_stay = 1.0 - e->slow;
  double       fast      = e->fast_power;
  double       slow      = e->slow_power;
  double       behind    = e->level;
  for (uint32_t i = 0; i < n; ++i) {
    const f64x2  both   = key[i] * key[i];
    const double square = both[0] > both[1] ? both[0] : both[1];
    fast                = fast_stay * fast + e->fast * square;
    slow                = slow_stay * slow + e->slow * square;

    const double pick = FAST_COUNTS * fast;
    const double now  = pick > slow ? pick : slow;
    const double most = PLAY_POWER * now;
    behind            = behind > now ? behind : now;
    behind            = behind < most ? behind : most;
    level[i]          = (float)behind;
  }
  e->fast_power = fast;
  e->slow_power = slow;
  e->level      = behind;
}

/// Turns power levels into the gains of the static curve
WIDE_CLONES static void
curve(float*       level,
      const float* threshold_db,
      const float* pause_db,
      uint32_t     n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float power    = level[i] > LOWEST ? level[i] : LOWEST;
    const float level_db = 0.5F * DB_PER_OCTAVE * fast_log2(power);
    const float down = reduction_db(threshold_db[i] - level_db, pause_db[i]);
    level[i]         = fast_exp2(-OCTAVES_PER_DB * down);
  }
}

/// Opens at once, holds, falls; then smooths.  Applies the gain.  Selects, no
/// branches, so that the cost does not depend on the signal.
static void
apply(pause_expander* e, const float* target, f64x2* x, uint32_t n)
{
  pause_hold h  = e->hold;
  double     y1 = e->y1;
  double     y  = e->y;
  for (uint32_t i = 0; i < n; ++i) {
    const double to    = (double)target[i];
    h.now              = h.now > to ? h.now : to;
    h.left             = h.left ? h.left - 1U : 0U;
    const bool is_over = h.left == 0;
    h.past             = is_over ? h.now : h.past;
    h.now              = is_over ? to : h.now;

    const double most   = h.past > h.now ? h.past : h.now;
    const double fallen = h.gain * e->fall;
    h.gain              = fallen > most ? fallen : most;

    // Everything before is lower: begin anew, so that a steady level keeps no
    // clock
    const bool is_most = to >= h.gain;
    h.past             = is_most ? to : h.past;
    h.left             = is_most || is_over ? e->hold_frames : h.left;

    y1 += e->open * (h.gain - y1);
    y += e->open * (y1 - y);
    x[i] *= y;
  }
  e->hold = h;
  e->y1   = y1;
  e->y    = y;
}

void
pause_expander_run(pause_expander* e, f64x2* x, uint32_t n)
{
  f64x2 key[CONTROL_FRAMES];
  float gain[CONTROL_FRAMES];
  float threshold_db[CONTROL_FRAMES];
  float pause_db[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    key[i] = e->n_channels > 1 ? x[i] : (f64x2){x[i][0], 0.0};
  }
  svf_run(e->key, 2, key, e->n_channels, n);
  detect(e, key, gain, n);
  ramp_values(&e->threshold, threshold_db, n);
  ramp_values(&e->range, pause_db, n);
  curve(gain, threshold_db, pause_db, n);
  apply(e, gain, x, n);
}
