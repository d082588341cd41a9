// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "mixdown.h"

#include "crew.h"

#include "presets-demo/render/align.h"
#include "presets-demo/render/heap.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define END_S 0.010

struct mixdown {
  const session*               session;
  const catalogue*             parts;
  host*                        host;
  output_folder*               folder;
  lane*                        lanes;
  uint64_t*                    n_over;             ///< By lane
  uint32_t                     n_lanes, n_sources; ///< Without and with sends
  uint32_t                     n_tracks;
  align**                      aligns; ///< By track; NULL without
  double                       rate_hz;
  uint64_t                     n_total;
  crew*                        crew;
  image                        image;
  uint64_t                     n_imaged; ///< Frames of the mix seen
  float                        end_peak;
  const volatile sig_atomic_t* stop;
};

/// "track 'lead': what"
static bool
fail_in(const lane* l, failure* f)
{
  const failure what = *f;
  if (l->in) {
    return fail_with(f, "track '%s': %s", l->strip->name, what.text);
  }
  return fail_with(f, "%s: %s", l->strip->name, what.text);
}

// ---------------------------------------------------------------------------
// Getting ready

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
  l->in = audio_in_open(l->strip->file, rate_hz, f);
  if (!l->in) {
    return false;
  }
  const audio_in_info info = audio_in_get_info(l->in);
  l->n_in                  = info.n_channels;
  l->n_file                = (uint64_t)info.n_frames;
  return info.n_frames >= 0 ||
         fail_with(f,
                   "%s: does not say how long it is; expected a file that does",
                   l->strip->file);
}

/// At the rate of the session, which is the highest of all if it says none
static bool
open_tracks(mixdown* m, failure* f)
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
start_lanes(mixdown* m, failure* f)
{
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    lane* const l = &m->lanes[i];
    l->n_total    = m->n_total;
    if (!lane_start(l, m->host, m->rate_hz)) {
      *f = l->failure;
      return fail_in(l, f);
    }
    if (lane_is_aligned(l)) {
      m->aligns[i] = align_new(m->host, m->parts, &l->setup, l->strip->file, f);
      if (!m->aligns[i]) {
        return fail_in(l, f);
      }
    }
  }
  return true;
}

static audio_out*
open_file(mixdown* m, const char* name, uint32_t n_channels, failure* f)
{
  const audio_out_spec spec = {
    .path       = output_folder_file(m->folder, name),
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
  char* const path = heap_print("stems/%s-%s.wav", kind, name);
  *file            = open_file(m, path, n_channels, f);
  free(path);
  return *file != NULL;
}

static bool
open_files(mixdown* m, failure* f)
{
  lane* const bus = &m->lanes[m->n_lanes - 1];
  bus->file       = open_file(m, "mix.wav", 2, f);
  bool ok         = bus->file != NULL;
  if (m->session->output.stems <= 0.0F) {
    return ok;
  }
  for (uint32_t i = 0; ok && i < m->n_sources; ++i) {
    lane* const       l    = &m->lanes[i];
    const char* const name = l->strip->name;
    ok                     = i < m->n_tracks
                               ? open_stem(m, &l->dry_file, "dry", name, l->n_in, f) &&
               open_stem(m, &l->file, "track", name, 2, f)
                               : open_stem(m, &l->file, "send", name, 2, f);
  }
  return ok && open_stem(m, &bus->dry_file, "bus", "input", 2, f);
}

mixdown*
mixdown_new(const session*   s,
            const catalogue* parts,
            host*            h,
            output_folder*   folder,
            uint32_t         n_threads,
            failure*         f)
{
  static const session_strip no_bus = {.name = (char*)"bus"};
  mixdown* const             m      = heap_new(1, sizeof(*m));
  const uint32_t             n_max  = s->n_tracks + SESSION_N_SENDS + 1;
  *m                                = (mixdown){.session  = s,
                                                .parts    = parts,
                                                .host     = h,
                                                .folder   = folder,
                                                .n_tracks = s->n_tracks,
                                                .crew     = crew_new(n_threads)};
  m->lanes                          = heap_new(n_max, sizeof(*m->lanes));
  m->n_over                         = heap_new(n_max, sizeof(*m->n_over));
  m->aligns                         = heap_new(s->n_tracks, sizeof(align*));
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

  bool ok = true;
  for (uint32_t i = 0; ok && i < m->n_lanes; ++i) {
    ok = load_setup(m, &m->lanes[i], f);
  }
  ok = ok && open_tracks(m, f);
  image_init(&m->image, ok ? m->rate_hz : 48000.0);
  if (!ok || !start_lanes(m, f) || !open_files(m, f)) {
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
    align_free(m->aligns[i]);
  }
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    lane_clear(&m->lanes[i]);
  }
  image_clear(&m->image);
  crew_free(m->crew);
  free(m->aligns);
  free(m->n_over);
  free(m->lanes);
  free(m);
}

// ---------------------------------------------------------------------------
// Playing

static bool
is_send(const mixdown* m, uint32_t i)
{
  return i >= m->n_tracks && i < m->n_sources;
}

/// The level at which lane `i` plays into lane `to`
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

/// Lanes 0 to this play into lane `to`
static uint32_t
n_into(const mixdown* m, uint32_t to)
{
  return is_send(m, to) ? m->n_tracks : m->n_sources;
}

/// Sum what has got here; the number of frames
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
      const float* const x    = tape_at(&m->lanes[i].tape, k, l->n_taken);
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
  const uint64_t end = bus->tape.end < m->n_total ? bus->tape.end : m->n_total;
  if (end == m->n_imaged) {
    return;
  }
  const uint32_t     n       = (uint32_t)(end - m->n_imaged);
  const float* const both[]  = {tape_at(&bus->tape, 0, m->n_imaged),
                                tape_at(&bus->tape, 1, m->n_imaged)};
  const uint64_t     n_end   = (uint64_t)ceil(END_S * m->rate_hz);
  const uint64_t     closing = m->n_total > n_end ? m->n_total - n_end : 0;
  image_add(&m->image, both, n);
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

/// The first frame of lane `i` that somebody still wants
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
    tape_make_room(&l->tape, wanted_from(m, i), LANE_FRAMES);
    l->n_ready = l->tape.end;
  }
}

static bool
check_lanes(const mixdown* m, failure* f)
{
  for (uint32_t i = 0; i < m->n_lanes; ++i) {
    if (m->lanes[i].has_failed) {
      *f = m->lanes[i].failure;
      return *f->text ? fail_in(&m->lanes[i], f) : false;
    }
  }
  return true;
}

static void
measure_align(void* user, uint32_t i)
{
  mixdown* const m = user;
  lane* const    l = &m->lanes[i];
  if (m->aligns[i]) {
    l->align_db   = align_measure_db(m->aligns[i], m->stop, &l->failure);
    l->has_failed = isnan(l->align_db);
  }
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

bool
mixdown_play(mixdown*                     m,
             progress*                    bar,
             const volatile sig_atomic_t* stop,
             failure*                     f)
{
  const lane* const bus = mixdown_bus(m);
  m->stop               = stop;
  crew_run(m->crew, measure_align, m, m->n_tracks);
  while (check_lanes(m, f)) {
    if (*stop) {
      return fail_with(f, "%s", "");
    }
    if (bus->tape.end >= m->n_total) {
      return finish_files(m, f);
    }
    begin_step(m);
    crew_run(m->crew, play_lane, m, m->n_lanes);
    progress_show(bar, bus->tape.end, m->n_total);
  }
  return false;
}

// ---------------------------------------------------------------------------
// What came out

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

const image*
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
