// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plays a session piece by piece, until the bus has all of it

#include "mixdown_cache.h"

#include <math.h>
#include <string.h>

/// The end of the mix, where nothing should sound any more
#define END_S 0.010

static bool
is_send(const mixdown* m, uint32_t i)
{
  return i >= m->n_tracks && i < m->n_sources;
}

/// Returns the level at which lane `i` plays into lane `to`
static float
level(const mixdown* m, uint32_t i, uint32_t to)
{
  if (!is_send(m, to)) {
    return 1.0F;
  }
  const session_strip* const send = m->lanes[to].strip;
  const float db = m->lanes[i].strip->send_db[send - m->session->sends];
  return db > SESSION_OFF_DB ? powf(10.0F, db / 20.0F) : 0.0F;
}

/// Returns the number of lanes, from lane 0, that play into lane `to`
static uint32_t
n_into(const mixdown* m, uint32_t to)
{
  return is_send(m, to) ? m->n_tracks : m->n_sources;
}

/// Sums into lane `to` as many frames as all its sources have; returns how many
static uint32_t
gather(const mixdown* m, uint32_t to)
{
  lane* const l   = &m->lanes[to];
  uint64_t    end = UINT64_MAX;
  for (uint32_t i = 0; i < n_into(m, to); ++i) {
    end = m->lanes[i].n_ready < end ? m->lanes[i].n_ready : end;
  }
  const uint64_t left = end - l->n_taken;
  const uint32_t n    = left < LANE_FRAMES ? (uint32_t)left : LANE_FRAMES;
  for (uint32_t k = 0; n && k < 2; ++k) {
    float* const sum = l->work[k];
    memset(sum, 0, n * sizeof(float));
    for (uint32_t i = 0; i < n_into(m, to); ++i) {
      const float        gain = level(m, i, to);
      const float* const x = lane_buffer_at(&m->lanes[i].buffer, k, l->n_taken);
      for (uint32_t j = 0; j < n; ++j) {
        sum[j] += gain * x[j];
      }
    }
  }
  return n;
}

static void
look_at_mix(mixdown* m)
{
  const lane* const bus = &m->lanes[m->n_sources];
  const uint64_t    end =
    bus->buffer.end < m->n_total ? bus->buffer.end : m->n_total;
  if (end == m->n_imaged) {
    return;
  }
  const uint32_t     n       = (uint32_t)(end - m->n_imaged);
  const float* const both[]  = {lane_buffer_at(&bus->buffer, 0, m->n_imaged),
                                lane_buffer_at(&bus->buffer, 1, m->n_imaged)};
  const uint64_t     n_end   = (uint64_t)ceil(END_S * m->rate_hz);
  const uint64_t     closing = m->n_total > n_end ? m->n_total - n_end : 0;
  stereo_image_add(&m->image, both, n);
  for (uint32_t i = 0; i < n; ++i) {
    if (m->n_imaged + i >= closing) {
      m->end_peak =
        fmaxf(m->end_peak, fmaxf(fabsf(both[0][i]), fabsf(both[1][i])));
    }
  }
  m->n_imaged = end;
}

static void
play_lane(void* user, uint32_t i)
{
  mixdown* const m = user;
  lane* const    l = &m->lanes[i];
  if (i < m->n_tracks) {
    lane_play_track(l, LANE_FRAMES);
    return;
  }
  const uint32_t n = gather(m, i);
  if (n) {
    lane_play(l, n);
  }
  if (i == m->n_sources) {
    look_at_mix(m);
  }
}

/// Returns the first frame of lane `i` that is still needed
static uint64_t
wanted_from(const mixdown* m, uint32_t i)
{
  uint64_t from = i == m->n_sources ? m->n_imaged : UINT64_MAX;
  for (uint32_t to = m->n_tracks; to < m->n_lanes; ++to) {
    if (i < n_into(m, to) && m->lanes[to].n_taken < from) {
      from = m->lanes[to].n_taken;
    }
  }
  return from;
}

static void
begin_step(mixdown* m)
{
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    lane* const l = &m->lanes[i];
    lane_buffer_make_room(&l->buffer, wanted_from(m, i), LANE_FRAMES);
    l->n_ready = l->buffer.end;
  }
}

bool
mixdown_check_lanes(const mixdown* m, failure* f)
{
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    if (m->lanes[i].has_failed) {
      *f = m->lanes[i].failure;
      return *f->text ? lane_fail(&m->lanes[i], f) : false;
    }
  }
  return true;
}

static bool
finish_file(audio_out** file, uint64_t* n_over, failure* f)
{
  audio_out* const out = *file;
  *file                = NULL;
  if (out) {
    *n_over += audio_out_n_over(out);
  }
  return !out || audio_out_finish(out, f);
}

static bool
finish_files(mixdown* m, failure* f)
{
  bool ok = true;
  for (uint32_t i = 0; ok && i < m->n_lanes; ++i) {
    uint64_t n_over_in = 0;
    ok                 = finish_file(&m->lanes[i].dry_file, &n_over_in, f) &&
         finish_file(&m->lanes[i].file, &m->n_over[i], f);
  }
  return ok;
}

/// Plays until the bus has all of the piece
static bool
play_mix(mixdown* m, progress* bar, failure* f)
{
  const lane* const bus = mixdown_bus(m);
  while (bus->buffer.end < m->n_total) {
    if (*m->stop) {
      return fail_with(f, "%s", "");
    }
    begin_step(m);
    worker_pool_run(m->workers, play_lane, m, m->n_lanes);
    progress_show(bar, bus->buffer.end, m->n_total);
    if (!mixdown_check_lanes(m, f)) {
      return false;
    }
  }
  return true;
}

bool
mixdown_play(mixdown* m, progress* bar, failure* f)
{
  if ((!m->chosen && !play_mix(m, bar, f)) || !mixdown_play_on(m, bar, f)) {
    return false;
  }
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    lane_end(&m->lanes[i]);
  }
  if (!finish_files(m, f)) {
    return false;
  }
  mixdown_end_keeping(m);
  return true;
}
