// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "mixdown_listen.h"

#include "plugins/setup/setup_lines.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/session/listen/listen_choice.h"

#include <math.h>
#include <stdlib.h>

/// The recordings' levels while excerpts are chosen
typedef struct {
  mixdown*       m;
  listen_levels* tracks; ///< By track
} level_work;

typedef struct {
  uint64_t from;
  uint32_t n;
} stretch;

/// Where the excerpt of a track begins by the session, or a reason for none
static float
track_listen_s(const mixdown* m, const lane* l)
{
  const float own = l->strip->listen_s;
  return own == SESSION_LISTEN_CHOSEN ? m->session->output.listen_s : own;
}

/// A track without stages has nothing to compare
static bool
is_wanted(const mixdown* m, uint32_t i)
{
  const lane* const l = &m->lanes[i];
  return lane_n_stages(l) && track_listen_s(m, l) != SESSION_LISTEN_OFF;
}

static bool
are_levels_needed(const mixdown* m)
{
  bool are = m->session->output.listen_s == SESSION_LISTEN_CHOSEN;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    are = are || (is_wanted(m, i) &&
                  track_listen_s(m, &m->lanes[i]) == SESSION_LISTEN_CHOSEN);
  }
  return are;
}

static void
read_levels(void* user, uint32_t i)
{
  const level_work* const w = user;
  lane* const             l = &w->m->lanes[i];
  l->has_failed             = !listen_levels_read(&w->tracks[i], l->strip->file,
                                                  &l->take.mend, w->m->stop, &l->failure);
}

static bool
read_all_levels(const level_work* w, failure* f)
{
  mixdown* const m = w->m;
  worker_pool_run(m->workers, read_levels, (void*)w, m->n_tracks);
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    if (m->lanes[i].has_failed) {
      *f = m->lanes[i].failure;
      return *f->text ? lane_fail(&m->lanes[i], f) : false;
    }
  }
  return true;
}

static uint32_t
whole_length(const mixdown* m)
{
  const double most = LISTEN_LENGTH_S * m->rate_hz;
  return (uint32_t)fmin(most, (double)m->n_total);
}

static stretch
choose(const mixdown* m, const listen_levels* levels)
{
  const uint32_t n     = whole_length(m);
  const uint32_t steps = (uint32_t)ceil((double)n / m->rate_hz / LISTEN_STEP_S);
  const uint64_t from  = (uint64_t)llround(listen_choice(levels, steps) *
                                           LISTEN_STEP_S * m->rate_hz);
  return (stretch){from + n > m->n_total ? m->n_total - n : from, n};
}

/// Takes the beginning from the session, or chooses it
static bool
find_stretch(const mixdown*       m,
             float                listen_s,
             uint32_t             line,
             const listen_levels* levels,
             stretch*             s,
             failure*             f)
{
  if (listen_s == SESSION_LISTEN_CHOSEN) {
    *s = choose(m, levels);
    return true;
  }
  const double   from_s   = (double)listen_s;
  const double   length_s = (double)m->n_total / m->rate_hz;
  const uint32_t n        = whole_length(m);
  if (from_s + LISTEN_MIN_S > length_s) {
    (void)fail_with(f,
                    "listen = %.0f:%04.1f: the piece ends at %.0f:%04.1f; "
                    "expected a time at least %g s before that",
                    floor(from_s / 60.0), fmod(from_s, 60.0),
                    floor(length_s / 60.0), fmod(length_s, 60.0), LISTEN_MIN_S);
    return setup_lines_fail_at(m->session->path, line, f);
  }
  s->from             = (uint64_t)llround(from_s * m->rate_hz);
  const uint64_t left = m->n_total - s->from;
  s->n                = left < n ? (uint32_t)left : n;
  return true;
}

/// Makes a lane keep a stretch of its joints: of all, or the first and the last
static void
keep(lane* l, stretch s, bool has_stages)
{
  const uint32_t last = lane_n_stages(l);
  for (uint32_t i = 0; i <= last; ++i) {
    if (has_stages || i == 0 || i == last) {
      listen_clip_init(&l->clips[i], s.from, s.n,
                       chain_n_channels(l->chain, i));
    }
  }
}

/// The mix beside the plain sum of the takes
static bool
keep_mix(mixdown* m, const listen_levels* levels, failure* f)
{
  const session_output* const o = &m->session->output;
  stretch                     s = {0, 0};
  if (o->listen_s == SESSION_LISTEN_OFF || !m->folder) {
    return true;
  }
  listen_levels sum = {.n = 0};
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    listen_levels_add(&sum, &levels[i]);
  }
  const bool ok = find_stretch(m, o->listen_s, o->listen_line, &sum, &s, f);
  listen_levels_clear(&sum);
  if (ok) {
    keep(&m->lanes[m->n_lanes - 1], s, true);
    for (uint32_t i = 0; i < m->n_tracks; ++i) {
      listen_clip_init(&m->lanes[i].dry_clip, s.from, s.n, m->lanes[i].n_in);
    }
  }
  return ok;
}

/// Returns how many signals all tracks have, and the bus
static uint32_t
count_versions(const mixdown* m)
{
  uint32_t n = lane_n_stages(&m->lanes[m->n_lanes - 1]) + 2;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    n += is_wanted(m, i) ? lane_n_stages(&m->lanes[i]) + 1 : 0;
  }
  return n;
}

static bool
keep_tracks(mixdown* m, const listen_levels* levels, failure* f)
{
  const bool has_stages = count_versions(m) <= LISTEN_MAX_VERSIONS;
  uint32_t   n_left     = (LISTEN_MAX_VERSIONS - 4) / 2; // Pairs
  bool       ok         = true;
  for (uint32_t i = 0; ok && i < m->n_tracks; ++i) {
    lane* const                l     = &m->lanes[i];
    const session_strip* const s     = l->strip;
    const bool                 own   = s->listen_s != SESSION_LISTEN_CHOSEN;
    stretch                    found = {0, 0};
    if (is_wanted(m, i)) {
      ok             = find_stretch(m, track_listen_s(m, l),
                        own ? s->listen_line : m->session->output.listen_line,
                                    &levels[i], &found, f);
      l->is_left_out = ok && !n_left;
      if (ok && n_left) {
        --n_left;
        keep(l, found, has_stages);
      }
    }
  }
  return ok;
}

bool
mixdown_listen(mixdown* m, failure* f)
{
  level_work w  = {m, alloc_new(m->n_tracks, sizeof(listen_levels))};
  const bool ok = (double)m->n_total < LISTEN_MIN_S * m->rate_hz ||
                  ((!are_levels_needed(m) || read_all_levels(&w, f)) &&
                   keep_mix(m, w.tracks, f) && keep_tracks(m, w.tracks, f));
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    listen_levels_clear(&w.tracks[i]);
  }
  free(w.tracks);
  return ok;
}
