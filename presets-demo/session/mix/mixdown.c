// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Preparation and results

#include "mixdown_cache.h"
#include "mixdown_listen.h"
#include "mixdown_state.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

// ---------------------------------------------------------------------------
// Preparation

static lane*
add_lane(mixdown* m, const session_strip* strip)
{
  lane* const l = &m->lanes[m->n_lanes++];
  l->strip      = strip;
  l->n_in       = 2;
  return l;
}

static bool
load_setup(mixdown* m, lane* l, failure* f)
{
  return !l->strip->setup ||
         setup_load(&l->setup, l->strip->setup, m->parts, f);
}

static bool
open_track(lane* l, double rate_hz, failure* f)
{
  audio_in_close(l->in);
  l->in = audio_in_open_mended(l->strip->file, rate_hz, &l->take.mend, f);
  if (!l->in) {
    return false;
  }
  const audio_in_info info = audio_in_get_info(l->in);
  l->n_in                  = info.n_channels;
  l->n_file                = (uint64_t)info.n_frames;
  return info.n_frames >= 0 ||
         fail_with(f,
                   "%s: does not state its length; expected a file that does",
                   l->strip->file);
}

bool
mixdown_open_tracks(mixdown* m, failure* f)
{
  double rate_hz = (double)m->session->output.rate_hz;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    if (!open_track(&m->lanes[i], 0.0, f)) {
      return false;
    }
    const audio_in_info info = audio_in_get_info(m->lanes[i].in);
    if (m->session->output.rate_hz <= 0.0F) {
      rate_hz = fmax(rate_hz, info.file_rate_hz);
    }
  }
  m->rate_hz     = rate_hz;
  uint64_t total = 0;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    lane* const l = &m->lanes[i];
    if (audio_in_get_info(l->in).rate_hz != rate_hz &&
        !open_track(l, rate_hz, f)) {
      return false;
    }
    total = l->n_file > total ? l->n_file : total;
  }
  m->n_total =
    total + (uint64_t)llround((double)m->session->output.tail_s * rate_hz);
  return true;
}

static bool
start_lane(mixdown* m, lane* l, failure* f)
{
  l->n_total = m->n_total;
  if (!lane_start(l, m->host, m->rate_hz, m->spectra)) {
    *f = l->failure;
    return lane_fail(l, f);
  }
  return true;
}

/// The sends and the bus, whose latencies are needed first
static bool
start_groups(mixdown* m, failure* f)
{
  bool ok    = true;
  m->spectra = spectrum_tools_new(m->rate_hz);
  stereo_image_init(&m->image, m->rate_hz, m->n_total, m->spectra);
  for (uint32_t i = m->n_tracks; ok && i < m->n_lanes; ++i) {
    ok = start_lane(m, &m->lanes[i], f);
  }
  return ok;
}

static bool
start_tracks(mixdown* m, failure* f)
{
  bool ok = true;
  for (uint32_t i = 0; ok && i < m->n_tracks; ++i) {
    ok = !mixdown_is_chosen(m, i) || start_lane(m, &m->lanes[i], f);
  }
  return ok;
}

static audio_out*
open_file(mixdown* m, const char* name, uint32_t n_channels, failure* f)
{
  const audio_out_spec spec = {
    .path       = whole_folder_file(m->folder, name),
    .n_channels = n_channels,
    .rate_hz    = m->rate_hz,
    .samples    = (sample_format)lrintf(m->session->output.bits),
    .n_frames   = (int64_t)m->n_total,
  };
  return audio_out_open(&spec, f);
}

static bool
open_stem(mixdown*    m,
          audio_out** file,
          const char* kind,
          const char* name,
          uint32_t    n_channels,
          failure*    f)
{
  const bool  is_flac = m->session->output.stems == (float)STEMS_FLAC;
  char* const path =
    alloc_print("stems/%s-%s.%s", kind, name, is_flac ? "flac" : "wav");
  *file = open_file(m, path, n_channels, f);
  free(path);
  return *file != NULL;
}

static bool
open_files(mixdown* m, failure* f)
{
  lane* const bus = &m->lanes[m->n_lanes - 1];
  bus->file       = open_file(m, "mix.wav", 2, f);
  bool ok         = bus->file != NULL;
  if (m->session->output.stems == (float)STEMS_OFF) {
    return ok;
  }
  for (uint32_t i = 0; ok && i < m->n_sources; ++i) {
    lane* const       l    = &m->lanes[i];
    const char* const name = l->strip->slug;
    ok                     = i < m->n_tracks
                               ? open_stem(m, &l->dry_file, "dry", name, l->n_in, f) &&
               open_stem(m, &l->file, "track", name, 2, f)
                               : open_stem(m, &l->file, "send", name, 2, f);
  }
  return ok && open_stem(m, &bus->dry_file, "bus", "input", 2, f);
}

static void
add_lanes(mixdown* m, const session* s)
{
  static const session_strip no_bus = {.name = (char*)"bus",
                                       .slug = (char*)"bus"};
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    add_lane(m, &s->tracks[i]);
  }
  for (uint32_t i = 0; i < SESSION_N_SENDS; ++i) {
    if (s->sends[i].line) {
      add_lane(m, &s->sends[i]);
    }
  }
  m->n_sources = m->n_lanes;
  add_lane(m, s->bus.line ? &s->bus : &no_bus);
}

static mixdown*
new_mixdown(const mixdown_spec* spec)
{
  const session* const s     = spec->session;
  const uint32_t       n_max = s->n_tracks + SESSION_N_SENDS + 1;
  mixdown* const       m     = alloc_new(1, sizeof(*m));
  *m                         = (mixdown){.session      = s,
                                         .parts        = spec->parts,
                                         .host         = spec->host,
                                         .folder       = spec->folder,
                                         .cache        = spec->cache,
                                         .chosen       = spec->chosen,
                                         .is_assembled = spec->is_assembled,
                                         .n_tracks     = s->n_tracks,
                                         .stop         = spec->stop,
                                         .workers      = worker_pool_new(spec->n_threads)};
  m->lanes                   = alloc_new(n_max, sizeof(*m->lanes));
  m->n_over                  = alloc_new(n_max, sizeof(*m->n_over));
  m->looks                   = alloc_new(s->n_tracks, sizeof(take_look*));
  m->levels                  = alloc_new(s->n_tracks, sizeof(*m->levels));
  m->recordings              = alloc_new(s->n_tracks, sizeof(*m->recordings));
  m->keys                    = alloc_new(s->n_tracks, sizeof(*m->keys));
  add_lanes(m, s);
  return m;
}

static bool
load_setups(mixdown* m, failure* f)
{
  bool ok = true;
  for (uint32_t i = 0; ok && i < m->n_lanes; ++i) {
    ok = load_setup(m, &m->lanes[i], f);
  }
  return ok;
}

static void
clear_levels(mixdown* m)
{
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    listen_levels_clear(&m->levels[i]);
  }
}

static bool
prepare(mixdown* m, failure* f)
{
  if (!load_setups(m, f) || !mixdown_open_tracks(m, f) || !start_groups(m, f)) {
    return false;
  }
  mixdown_plan_clips(m);
  if (!mixdown_take_tracks(m, f) || !mixdown_look_at_takes(m, f) ||
      !start_tracks(m, f) || !mixdown_listen(m, f) ||
      (m->folder && !open_files(m, f))) {
    return false;
  }
  mixdown_begin_keeping(m);
  clear_levels(m);
  return true;
}

mixdown*
mixdown_new(const mixdown_spec* spec, failure* f)
{
  mixdown* const m = new_mixdown(spec);
  if (!prepare(m, f)) {
    mixdown_free(m);
    return NULL;
  }
  return m;
}

void
mixdown_free(mixdown* m)
{
  if (!m) {
    return;
  }
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    take_look_free(m->looks[i]);
  }
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    lane_clear(&m->lanes[i]);
  }
  clear_levels(m);
  stereo_image_clear(&m->image);
  spectrum_tools_free(m->spectra);
  worker_pool_free(m->workers);
  free(m->keys);
  free(m->recordings);
  free(m->levels);
  free(m->looks);
  free(m->n_over);
  free(m->lanes);
  free(m);
}

// ---------------------------------------------------------------------------
// Results

uint32_t
mixdown_n_lanes(const mixdown* m)
{
  return m->n_lanes;
}

const lane*
mixdown_lane(const mixdown* m, uint32_t i)
{
  return &m->lanes[i];
}

const lane*
mixdown_bus(const mixdown* m)
{
  return &m->lanes[m->n_lanes - 1];
}

const digest_value*
mixdown_keys(const mixdown* m)
{
  return m->cache ? m->keys : NULL;
}

bool
mixdown_is_chosen(const mixdown* m, uint32_t track)
{
  return !m->chosen || m->chosen[track];
}

const stereo_image*
mixdown_image(const mixdown* m)
{
  return &m->image;
}

double
mixdown_rate_hz(const mixdown* m)
{
  return m->rate_hz;
}

double
mixdown_length_s(const mixdown* m)
{
  return (double)m->n_total / m->rate_hz;
}

uint64_t
mixdown_n_over(const mixdown* m, uint32_t i)
{
  return m->n_over[i];
}

double
mixdown_end_peak_db(const mixdown* m)
{
  return level_power_db((double)m->end_peak * (double)m->end_peak);
}
