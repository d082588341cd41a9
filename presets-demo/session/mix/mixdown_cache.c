// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "mixdown_cache.h"

#include "lane_facts.h"
#include "mixdown_listen.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/session/cache/cache_folder.h"
#include "track_key.h"

#include <stdlib.h>

/// Files end behind the piece, at a multiple of this: another bus or send does
/// not change them as long as it looks no further ahead
#define KEEP_STEP_FRAMES 16384U

/// What looks ahead may also see the rest of its block
#define REST_FRAMES (2U * HOST_BLOCK_FRAMES)

/// What the tasks share
typedef struct {
  mixdown*       m;
  track_key_base base;
} key_work;

static uint64_t
frames_to_keep(const mixdown* m)
{
  uint32_t sends = 0;
  for (uint32_t i = m->n_tracks; i < m->n_sources; ++i) {
    const uint32_t latency = chain_latency_frames(m->lanes[i].chain);
    sends                  = latency > sends ? latency : sends;
  }
  const uint64_t ahead =
    REST_FRAMES + sends + chain_latency_frames(mixdown_bus(m)->chain);
  const uint64_t n_steps = (ahead + KEEP_STEP_FRAMES - 1) / KEEP_STEP_FRAMES;
  return m->n_total + n_steps * KEEP_STEP_FRAMES;
}

// ---------------------------------------------------------------------------
// Taking

/// Takes over what a file says; false if it does not fit
static bool
take_facts(mixdown* m, uint32_t i, track_file_in* file)
{
  lane* const               l = &m->lanes[i];
  const track_header* const h = track_file_header(file);
  pack head                   = pack_to_read(track_file_head(file), h->n_head);
  pack facts = pack_to_read(track_file_facts(file), h->n_facts);
  lane_facts_head(&head, &l->take, &m->levels[i]);
  lane_facts_pack(&facts, l);
  track_file_forget(file);
  l->n_out  = h->n_channels;
  l->n_skip = l->figures.latency_frames;
  return pack_is_read(&head) && pack_is_read(&facts) &&
         h->n_frames == m->n_kept;
}

static void
drop_facts(mixdown* m, uint32_t i)
{
  lane* const l = &m->lanes[i];
  lane_forget_facts(l);
  listen_levels_clear(&m->levels[i]);
  l->take   = (take_result){.align_db = 0.0};
  l->n_skip = 0;
}

static void
take_file(mixdown* m, uint32_t i)
{
  lane* const          l    = &m->lanes[i];
  char* const          path = cache_folder_path(m->cache, m->keys[i]);
  failure              f    = {""};
  track_file_in* const file = track_file_open(path, m->keys[i], m->stop, &f);
  if (file && take_facts(m, i, file)) {
    l->taken = file;
  } else if (file) { // Its checksums hold, but it says something else
    (void)fail_with(&f, "is of another version");
    drop_facts(m, i);
    track_file_close(file);
  }
  if (*f.text) {
    (void)fail_with(&l->take_failure, "%s: %s", path, f.text);
  }
  free(path);
}

static void
take_track(void* user, uint32_t i)
{
  const key_work* const w = user;
  mixdown* const        m = w->m;
  lane* const           l = &m->lanes[i];
  if (!mixdown_is_chosen(m, i)) {
    return;
  }
  l->has_failed =
    !track_key_recording(&m->recordings[i], l, m->stop, &l->failure);
  if (!l->has_failed) {
    m->keys[i] =
      track_key(&w->base, m->recordings[i], l, mixdown_listen_s(m, l));
    take_file(m, i);
  }
}

/// Names all tracks that are missing in one line
static bool
check_parts(const mixdown* m, failure* f)
{
  char     list[2048] = "";
  size_t   n          = 0;
  uint32_t n_missing  = 0;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    const lane* const l = &m->lanes[i];
    if (!l->taken && n < sizeof(list)) {
      n += (size_t)snprintf(list + n, sizeof(list) - n, "%s'%s'%s",
                            n_missing ? ", " : "", l->strip->name,
                            *l->take_failure.text ? " (no good)" : "");
    }
    n_missing += !l->taken;
  }
  return !n_missing ||
         fail_with(f,
                   "%s: lacks %u of %u tracks as they are now: %s; expected "
                   "them rendered by --only",
                   m->cache, n_missing, m->n_tracks, list);
}

bool
mixdown_take_tracks(mixdown* m, failure* f)
{
  if (!m->cache) {
    return true;
  }
  m->n_kept  = frames_to_keep(m);
  key_work w = {
    m, {.rate_hz = m->rate_hz, .n_total = m->n_total, .n_kept = m->n_kept}};
  if (!track_key_program(&w.base.program, m->parts, m->stop, f)) {
    return false;
  }
  worker_pool_run(m->workers, take_track, &w, m->n_tracks);
  if (!mixdown_check_lanes(m, f)) {
    return false;
  }
  if (*m->stop) {
    return fail_with(f, "%s", "");
  }
  return !m->is_assembled || check_parts(m, f);
}

// ---------------------------------------------------------------------------
// Keeping

static void
begin_file(mixdown* m, uint32_t i)
{
  lane* const        l      = &m->lanes[i];
  char* const        path   = cache_folder_path(m->cache, m->keys[i]);
  pack               head   = pack_to_write();
  const track_header wanted = {
    .key = m->keys[i], .n_frames = m->n_kept, .n_channels = l->n_out};
  lane_facts_head(&head, &l->take, &m->levels[i]);
  l->keeping =
    track_file_create(path, &wanted, head.bytes, head.n, &l->keep_failure);
  free(head.bytes);
  free(path);
}

void
mixdown_begin_keeping(mixdown* m)
{
  for (uint32_t i = 0; m->cache && i < m->n_tracks; ++i) {
    if (mixdown_is_chosen(m, i) && !m->lanes[i].taken) {
      begin_file(m, i);
    }
  }
}

static bool
is_to_play_on(const mixdown* m, uint32_t i)
{
  const lane* const l = &m->lanes[i];
  return l->keeping && l->buffer.end < m->n_kept;
}

static void
play_on(void* user, uint32_t i)
{
  mixdown* const m = user;
  if (is_to_play_on(m, i)) {
    lane_play_track(&m->lanes[i], LANE_FRAMES);
  }
}

/// Makes room for the next frames; returns where the lane is that is furthest
/// behind
static uint64_t
begin_step_on(mixdown* m)
{
  uint64_t least = m->n_kept;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    lane_buffer* const b = &m->lanes[i].buffer;
    if (is_to_play_on(m, i)) {
      least = b->end < least ? b->end : least;
      lane_buffer_make_room(b, b->end, LANE_FRAMES);
    }
  }
  return least;
}

bool
mixdown_play_on(mixdown* m, progress* bar, failure* f)
{
  for (uint64_t at = begin_step_on(m); at < m->n_kept; at = begin_step_on(m)) {
    if (*m->stop) {
      return fail_with(f, "%s", "");
    }
    worker_pool_run(m->workers, play_on, m, m->n_tracks);
    if (!mixdown_check_lanes(m, f)) {
      return false;
    }
    progress_show(bar, at < m->n_total ? at : m->n_total, m->n_total);
  }
  return true;
}

/// Returns whether the recording is still the one that was looked up
static bool
is_unchanged(const mixdown* m, uint32_t i, failure* f)
{
  const lane* const l = &m->lanes[i];
  digest_value      now;
  return track_key_recording(&now, l, m->stop, f) &&
         (digest_is_same(now, m->recordings[i]) ||
          fail_with(f, "%s: has changed while it was played", l->strip->file));
}

static void
end_file(void* user, uint32_t i)
{
  mixdown* const m = user;
  lane* const    l = &m->lanes[i];
  if (!l->keeping || !is_unchanged(m, i, &l->keep_failure)) {
    return;
  }
  pack facts = pack_to_write();
  lane_facts_pack(&facts, l);
  l->is_kept =
    track_file_finish(l->keeping, facts.bytes, facts.n, &l->keep_failure);
  l->keeping = NULL;
  free(facts.bytes);
}

void
mixdown_end_keeping(mixdown* m)
{
  worker_pool_run(m->workers, end_file, m, m->n_tracks);
}
