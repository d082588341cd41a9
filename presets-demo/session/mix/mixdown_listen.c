// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "mixdown_listen.h"

#include "plugins/setup/setup_lines.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/session/listen/listen_choice.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
  uint64_t from;
  uint32_t n;
} stretch;

float
mixdown_listen_s(const mixdown* m, const lane* l)
{
  const float own = l->strip->listen_s;
  return own == SESSION_LISTEN_CHOSEN ? m->session->output.listen_s : own;
}

/// A track without stages has nothing to compare
static bool
is_wanted(const mixdown* m, uint32_t i)
{
  const lane* const l = &m->lanes[i];
  return lane_n_stages(l) && mixdown_listen_s(m, l) != SESSION_LISTEN_OFF;
}

static bool
are_levels_needed(const mixdown* m)
{
  bool are = m->session->output.listen_s == SESSION_LISTEN_CHOSEN;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    are = are || (is_wanted(m, i) &&
                  mixdown_listen_s(m, &m->lanes[i]) == SESSION_LISTEN_CHOSEN);
  }
  return are;
}

/// Returns whether the levels of a track are still to be read
static bool
is_to_be_read(const mixdown* m, uint32_t i)
{
  return mixdown_is_chosen(m, i) && !m->lanes[i].taken;
}

static void
read_levels(void* user, uint32_t i)
{
  mixdown* const m = user;
  lane* const    l = &m->lanes[i];
  l->has_failed    = is_to_be_read(m, i) &&
                  !listen_levels_read(&m->levels[i], l->strip->file,
                                      &l->take.mend, m->stop, &l->failure);
}

static bool
read_all_levels(mixdown* m, failure* f)
{
  worker_pool_run(m->workers, read_levels, m, m->n_tracks);
  return mixdown_check_lanes(m, f);
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

/// Makes a lane keep a stretch of its joints
static void
keep(lane* l, stretch s)
{
  const uint32_t last = lane_n_stages(l);
  for (uint32_t i = 0; i <= last; ++i) {
    if (l->has_clips == LANE_CLIPS_ALL || i == 0 || i == last) {
      listen_clip_init(&l->clips[i], s.from, s.n,
                       chain_n_channels(l->chain, i));
    }
  }
}

/// The mix beside the plain sum of the takes
static bool
keep_mix(mixdown* m, failure* f)
{
  const session_output* const o = &m->session->output;
  stretch                     s = {0, 0};
  if (o->listen_s == SESSION_LISTEN_OFF || !m->folder) {
    return true;
  }
  listen_levels sum = {.n = 0};
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    listen_levels_add(&sum, &m->levels[i]);
  }
  const bool ok = find_stretch(m, o->listen_s, o->listen_line, &sum, &s, f);
  listen_levels_clear(&sum);
  if (ok) {
    lane* const bus = &m->lanes[m->n_lanes - 1];
    bus->has_clips  = LANE_CLIPS_ALL;
    keep(bus, s);
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

/// Returns whether nothing is long enough to be heard
static bool
is_too_short(const mixdown* m)
{
  return (double)m->n_total < LISTEN_MIN_S * m->rate_hz;
}

void
mixdown_plan_clips(mixdown* m)
{
  const bool has_all = count_versions(m) <= LISTEN_MAX_VERSIONS;
  uint32_t   n_left  = (LISTEN_MAX_VERSIONS - 4) / 2; // Pairs
  for (uint32_t i = 0; !is_too_short(m) && i < m->n_tracks; ++i) {
    lane* const l  = &m->lanes[i];
    l->is_left_out = is_wanted(m, i) && !n_left;
    if (is_wanted(m, i) && n_left) {
      --n_left;
      l->has_clips = has_all ? LANE_CLIPS_ALL : LANE_CLIPS_ENDS;
    }
  }
}

/// Makes a track keep its excerpt.  One that is taken has it; a place that the
/// session names is checked nevertheless.
static bool
keep_track(mixdown* m, uint32_t i, failure* f)
{
  lane* const                l        = &m->lanes[i];
  const session_strip* const s        = l->strip;
  const float                listen_s = mixdown_listen_s(m, l);
  stretch                    found    = {0, 0};
  const uint32_t             line     = s->listen_s != SESSION_LISTEN_CHOSEN
                                          ? s->listen_line
                                          : m->session->output.listen_line;
  if (!is_wanted(m, i) || (l->taken && listen_s == SESSION_LISTEN_CHOSEN)) {
    return true;
  }
  if (!find_stretch(m, listen_s, line, &m->levels[i], &found, f)) {
    return false;
  }
  if (l->has_clips && !l->taken) {
    keep(l, found);
  }
  return true;
}

static bool
keep_tracks(mixdown* m, failure* f)
{
  bool ok = true;
  for (uint32_t i = 0; ok && i < m->n_tracks; ++i) {
    ok = !mixdown_is_chosen(m, i) || keep_track(m, i, f);
  }
  return ok;
}

bool
mixdown_listen(mixdown* m, failure* f)
{
  if (is_too_short(m)) {
    return true;
  }
  return ((!m->cache && !are_levels_needed(m)) || read_all_levels(m, f)) &&
         (m->chosen || keep_mix(m, f)) && keep_tracks(m, f);
}
