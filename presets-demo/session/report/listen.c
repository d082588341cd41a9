// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "listen.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/session/mix/worker_pool.h"

#include <math.h>
#include <stdlib.h>

/// One version in a list of tasks
typedef struct {
  const listen*    l;
  listen_version** versions;
} listen_work;

static void
add_version(listen_thing* t, const char* name, const listen_clip* clip)
{
  if (clip->n) {
    t->versions =
      alloc_grow(t->versions, t->n_versions + 1, sizeof(*t->versions));
    t->versions[t->n_versions++] = (listen_version){.name = name, .clip = clip};
  }
}

static const char*
stage_name(const lane* l, uint32_t joint)
{
  return joint ? l->figures.stages[joint - 1].stem : "dry";
}

static void
add_track(listen* l, const lane* track)
{
  listen_thing* const t = &l->things[l->n_things];
  *t                    = (listen_thing){.lane = track};
  for (uint32_t i = 0; i <= lane_n_stages(track); ++i) {
    add_version(t, stage_name(track, i), &track->clips[i]);
  }
  l->n_things += t->n_versions > 1;
}

/// The plain sum of the takes, as they were recorded: no alignment, no fader
static void
add_mix(listen* l, const mixdown* m)
{
  const lane* const   bus = mixdown_bus(m);
  listen_thing* const t   = &l->things[l->n_things];
  if (!bus->clips[0].n) {
    return;
  }
  listen_clip_init(&l->sum, bus->clips[0].from, bus->clips[0].n, 2);
  for (uint32_t i = 0; i + 1 < mixdown_n_lanes(m); ++i) {
    if (mixdown_lane(m, i)->dry_clip.n) {
      listen_clip_add(&l->sum, &mixdown_lane(m, i)->dry_clip);
    }
  }
  *t = (listen_thing){.lane = bus};
  add_version(t, "dry", &l->sum);
  for (uint32_t i = 0; i <= lane_n_stages(bus); ++i) {
    add_version(t, i ? stage_name(bus, i) : "into the bus", &bus->clips[i]);
  }
  ++l->n_things;
}

static void
measure(void* user, uint32_t i)
{
  const listen_work* const w = user;
  listen_version* const    v = w->versions[i];
  v->loudness                = listen_loudness_of(v->clip, w->l->rate_hz);
}

static void
encode(void* user, uint32_t i)
{
  const listen_work* const w = user;
  listen_version* const    v = w->versions[i];
  v->sound = opus_out_encode(v->clip, w->l->rate_hz, v->gain_db);
}

/// Lists the versions of all things; returns how many
static uint32_t
list_versions(const listen* l, listen_work* w)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < l->n_things; ++i) {
    n += l->things[i].n_versions;
  }
  *w = (listen_work){l, alloc_new(n, sizeof(listen_version*))};
  n  = 0;
  for (uint32_t i = 0; i < l->n_things; ++i) {
    for (uint32_t k = 0; k < l->things[i].n_versions; ++k) {
      w->versions[n++] = &l->things[i].versions[k];
    }
  }
  return n;
}

static void
run(const listen* l, worker_pool* pool, void (*task)(void* user, uint32_t i))
{
  listen_work    w;
  const uint32_t n = list_versions(l, &w);
  worker_pool_run(pool, task, &w, n);
  free(w.versions);
}

static bool
can_be_compared(const listen_thing* t)
{
  bool can = true;
  for (uint32_t i = 0; i < t->n_versions; ++i) {
    can = can && isfinite(t->versions[i].loudness.lufs);
  }
  return can;
}

/// Leaves out what is silent in a version: it cannot be brought to a loudness
static void
leave_out_silence(listen* l)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < l->n_things; ++i) {
    if (can_be_compared(&l->things[i])) {
      l->things[n++] = l->things[i];
    } else {
      free(l->things[i].versions);
    }
  }
  l->n_things = n;
}

static void
set_gains(listen* l)
{
  listen_work    w;
  const uint32_t n = list_versions(l, &w);
  l->lufs          = LISTEN_TARGET_LUFS;
  for (uint32_t i = 0; i < n; ++i) {
    const listen_loudness now = w.versions[i]->loudness;
    l->lufs =
      fmin(l->lufs, now.lufs + LISTEN_MAX_TRUE_PEAK_DB - now.true_peak_db);
  }
  for (uint32_t i = 0; i < n; ++i) {
    w.versions[i]->gain_db = l->lufs - w.versions[i]->loudness.lufs;
  }
  free(w.versions);
}

static void
finish(listen* l)
{
  for (uint32_t i = 0; i < l->n_things; ++i) {
    listen_thing* const      t = &l->things[i];
    const listen_clip* const c = t->versions[0].clip;
    t->from_s                  = (double)c->from / l->rate_hz;
    t->length_s                = (double)c->n / l->rate_hz;
    for (uint32_t k = 0; k < t->n_versions; ++k) {
      l->has_failed = l->has_failed || !t->versions[k].sound.data;
    }
  }
}

listen
listen_make(const mixdown* m, uint32_t n_threads)
{
  worker_pool* const pool    = worker_pool_new(n_threads);
  const uint32_t     n_lanes = mixdown_n_lanes(m);
  listen             l       = {.rate_hz = mixdown_rate_hz(m),
                                .things  = alloc_new(n_lanes, sizeof(listen_thing))};
  add_mix(&l, m);
  for (uint32_t i = 0; i < n_lanes; ++i) {
    const lane* const now = mixdown_lane(m, i);
    if (now->in) {
      add_track(&l, now);
      l.n_left_out += now->is_left_out;
    }
  }
  run(&l, pool, measure);
  leave_out_silence(&l);
  set_gains(&l);
  run(&l, pool, encode);
  finish(&l);
  worker_pool_free(pool);
  return l;
}

void
listen_clear(listen* l)
{
  for (uint32_t i = 0; i < l->n_things; ++i) {
    for (uint32_t k = 0; k < l->things[i].n_versions; ++k) {
      free(l->things[i].versions[k].sound.data);
    }
    free(l->things[i].versions);
  }
  free(l->things);
  listen_clip_clear(&l->sum);
  *l = (listen){.n_things = 0};
}
