// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_check.h"

#include "common/level/gated_level.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"
#include "take_dc.h"

#include <math.h>
#include <stdlib.h>

/// Dropouts have playing on both sides: its peaks are above this, re its RMS
#define BESIDE_DB (-20.0)

typedef struct {
  double      sum, squares; ///< Of the present hop
  double      power;        ///< Of all hops, without DC
  take_dc     dc;
  gated_level level; ///< Without DC
  take_runs   runs;
  take_hum*   hum;
} channel;

struct take_check {
  double      rate_hz;
  uint32_t    n_channels;
  uint32_t    hop_frames, n_hop;
  uint64_t    n_frames;
  gated_level level; ///< Of all channels
  channel     channels[AUDIO_MAX_CHANNELS];
};

take_check*
take_check_new(double rate_hz, uint32_t n_channels)
{
  take_check* const c = alloc_new(1, sizeof(*c));
  c->rate_hz          = rate_hz;
  c->n_channels       = n_channels;
  c->hop_frames       = (uint32_t)lrint(GATED_LEVEL_HOP_S * rate_hz);
  gated_level_reset(&c->level, GATED_LEVEL_LOW_DB);
  for (uint32_t k = 0; k < n_channels; ++k) {
    gated_level_reset(&c->channels[k].level, GATED_LEVEL_LOW_DB);
    take_runs_init(&c->channels[k].runs, rate_hz);
    c->channels[k].hum = take_hum_new(rate_hz);
  }
  return c;
}

void
take_check_free(take_check* c)
{
  if (c) {
    for (uint32_t k = 0; k < c->n_channels; ++k) {
      take_hum_free(c->channels[k].hum);
    }
    free(c);
  }
}

/// Returns the mean square of the hop that ends, without DC
static double
end_hop(channel* c, uint32_t n)
{
  const double mean  = c->sum / n;
  const double power = fmax(c->squares / n - mean * mean, 0.0);
  take_dc_add(&c->dc, mean, power);
  c->power += power;
  c->sum     = 0.0;
  c->squares = 0.0;
  (void)gated_level_push(&c->level, power);
  return power;
}

static void
add_sums(channel* c, const float* x, uint32_t n)
{
  double sum     = 0.0;
  double squares = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    sum += (double)x[i];
    squares += (double)x[i] * (double)x[i];
  }
  c->sum += sum;
  c->squares += squares;
}

void
take_check_add(take_check* c, const float* const* x, uint32_t n)
{
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    take_runs_add(&c->channels[k].runs, x[k], n);
    take_hum_add(c->channels[k].hum, x[k], n);
  }
  for (uint32_t i = 0; i < n;) {
    const uint32_t left = c->hop_frames - c->n_hop;
    const uint32_t now  = n - i < left ? n - i : left;
    for (uint32_t k = 0; k < c->n_channels; ++k) {
      add_sums(&c->channels[k], x[k] + i, now);
    }
    i += now;
    c->n_hop += now;
    if (c->n_hop == c->hop_frames) {
      double power = 0.0;
      for (uint32_t k = 0; k < c->n_channels; ++k) {
        power += end_hop(&c->channels[k], c->hop_frames) / c->n_channels;
      }
      (void)gated_level_push(&c->level, power);
      c->n_hop = 0;
    }
  }
  c->n_frames += n;
}

static mend_channels
channels_of(const take_check* c)
{
  if (c->n_channels == 2) {
    const double far   = pow(10.0, TAKE_SILENT_CHANNEL_DB / 10.0);
    const double left  = c->channels[0].power;
    const double right = c->channels[1].power;
    if (left > 0.0 && left >= far * right) {
      return MEND_LEFT_ONLY;
    }
    if (right > 0.0 && right >= far * left) {
      return MEND_RIGHT_ONLY;
    }
  }
  return MEND_ALL_CHANNELS;
}

static bool
is_heard(const take_figures* f, uint32_t k)
{
  return f->mend.channels == MEND_ALL_CHANNELS ||
         (f->mend.channels == MEND_RIGHT_ONLY) == (k == 1);
}

static double
level_of(const take_check* c, mend_channels heard)
{
  const gated_level* const g  = heard == MEND_ALL_CHANNELS
                                  ? &c->level
                                  : &c->channels[heard == MEND_RIGHT_ONLY].level;
  const double             db = gated_level_db(g);
  if (g->n_hops < GATED_LEVEL_HOPS) {
    return (double)NAN;
  }
  return db > GATED_LEVEL_FLOOR_DB ? db : -(double)INFINITY;
}

static void
find_dc(const take_check* c, take_figures* f)
{
  const double limit_db =
    f->has_playing && isfinite(f->level_db)
      ? fmax(f->level_db - TAKE_DC_BELOW_PLAYING_DB, TAKE_DC_LEAST_DBFS)
      : TAKE_DC_DBFS;
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    if (is_heard(f, k)) {
      const double dc = take_dc_find(&c->channels[k].dc);
      f->dc[k]        = level_power_db(dc * dc) >= limit_db ? dc : 0.0;
      f->mend.dc[k]   = (float)f->dc[k];
    }
  }
}

static void
find_hum(const take_check* c, take_figures* f)
{
  const double below_db = f->has_playing ? f->level_db - 6.0 : (double)INFINITY;
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    const hum_found found = take_hum_find(c->channels[k].hum, below_db);
    if (is_heard(f, k) && found.mains_hz > 0.0 &&
        (!(f->hum.mains_hz > 0.0) || found.level_db > f->hum.level_db) &&
        found.level_db >= f->level_db - TAKE_HUM_BELOW_PLAYING_DB) {
      f->hum = found;
    }
  }
}

/// Steady and soft, or steady and mostly hum
static void
find_playing(const take_check* c, take_figures* f)
{
  double hum_db = -(double)INFINITY;
  f->is_steady  = true;
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    if (is_heard(f, k)) {
      const hum_found found =
        take_hum_find(c->channels[k].hum, (double)INFINITY);
      f->is_steady = f->is_steady && take_hum_is_steady(c->channels[k].hum);
      hum_db = found.mains_hz > 0.0 ? fmax(hum_db, found.level_db) : hum_db;
    }
  }
  const bool is_hum = hum_db >= f->level_db - 3.0;
  f->has_playing =
    !(f->level_db == -(double)INFINITY) &&
    !(f->is_steady && (is_hum || f->level_db < TAKE_STEADY_DBFS));
}

static void
find_clipping(const take_check* c, take_figures* f)
{
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    const take_runs* const r     = &c->channels[k].runs;
    const run_count        runs  = take_runs_clipped(r);
    const double           share = (double)runs.n_frames / (double)c->n_frames;
    f->peak_db = fmax(f->peak_db, 20.0 * log10((double)r->peak));
    if (runs.n && share > f->clipped) {
      f->clipped         = share;
      f->clipped_channel = k;
      f->clipped_s       = (double)runs.first / c->rate_hz;
      f->rail_db         = 20.0 * log10((double)take_runs_rail(r));
    }
  }
}

static void
find_dropouts(const take_check* c, take_figures* f)
{
  for (uint32_t k = 0; k < c->n_channels && f->has_playing; ++k) {
    const run_count gaps =
      take_runs_dropouts(&c->channels[k].runs, f->level_db + BESIDE_DB);
    if (is_heard(f, k) && gaps.n > f->n_dropouts) {
      f->n_dropouts = (uint32_t)gaps.n;
      f->dropouts_s = (double)gaps.n_frames / c->rate_hz;
      f->dropout_s  = (double)gaps.first / c->rate_hz;
    }
  }
}

take_figures
take_check_figures(const take_check* c)
{
  take_figures f  = {.n_channels = c->n_channels,
                     .length_s   = (double)c->n_frames / c->rate_hz,
                     .peak_db    = -(double)INFINITY};
  f.mend.channels = channels_of(c);
  f.level_db      = level_of(c, f.mend.channels);
  find_clipping(c, &f);
  find_playing(c, &f);
  find_dc(c, &f);
  find_hum(c, &f);
  if (!isnan(f.level_db)) {
    find_dropouts(c, &f);
  }
  return f;
}
