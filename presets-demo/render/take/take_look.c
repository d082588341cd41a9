// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_look.h"

#include "common/core/dsp.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/measure/align.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>

/// The meter's gate is at -70 dBFS: there is no playing 96 dB below the level
#define MAX_PASSES 5U

struct take_look {
  host*            host;
  const catalogue* parts;
  const setup*     setup;
  const char*      file;
  bool             is_aligned;
  bool             is_done;
  uint32_t         n_passes;
  double           front_db; ///< In front of this pass
  audio_in*        in;
  take_check*      check;     ///< First pass only
  chain*           alignment; ///< NULL without
  float*           x[AUDIO_MAX_CHANNELS];
  take_result      result;
};

static void
close_pass(take_look* l)
{
  take_check_free(l->check);
  chain_free(l->alignment);
  audio_in_close(l->in);
  l->check     = NULL;
  l->alignment = NULL;
  l->in        = NULL;
}

static bool
open_pass(take_look* l, failure* f)
{
  l->in = audio_in_open_mended(l->file, 0.0, &l->result.mend, f);
  if (!l->in) {
    return false;
  }
  const audio_in_info info = audio_in_get_info(l->in);
  if (!l->n_passes) {
    l->check = take_check_new(info.rate_hz, info.n_channels);
  }
  if (l->is_aligned) {
    l->alignment =
      align_new(l->host, l->parts, l->setup, info.n_channels, info.rate_hz, f);
  }
  return l->alignment || !l->is_aligned;
}

take_look*
take_look_new(host*            h,
              const catalogue* parts,
              const setup*     s,
              const char*      file,
              bool             is_aligned,
              failure*         f)
{
  take_look* const l = alloc_new(1, sizeof(*l));
  struct stat      status;
  *l = (take_look){.host       = h,
                   .parts      = parts,
                   .setup      = s,
                   .file       = file,
                   .is_aligned = is_aligned,
                   .result     = {.has_playing = true}};
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
    l->x[k] = alloc_new(HOST_BLOCK_FRAMES, sizeof(float));
  }
  l->is_done = !stat(file, &status) && !S_ISREG(status.st_mode);
  if (l->is_done && is_aligned) {
    (void)fail_with(f,
                    "%s: is no ordinary file; expected one, which align = yes "
                    "reads twice",
                    file);
    take_look_free(l);
    return NULL;
  }
  if (!l->is_done && !open_pass(l, f)) {
    take_look_free(l);
    return NULL;
  }
  return l;
}

void
take_look_free(take_look* l)
{
  if (l) {
    close_pass(l);
    for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
      free(l->x[k]);
    }
    free(l);
  }
}

static bool
play_block(take_look* l, uint32_t n, failure* f)
{
  if (l->check) {
    take_check_add(l->check, (const float* const*)l->x, n);
  }
  if (!l->alignment) {
    return true;
  }
  const float gain = (float)pow(10.0, l->front_db / 20.0);
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS && l->front_db != 0.0; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      l->x[k][i] *= gain;
    }
  }
  return chain_run(l->alignment, (const float* const*)l->x, l->x, n, f);
}

/// Takes what the first pass found; returns whether alignment is to be measured
/// on something else
static bool
take_figures_in(take_look* l)
{
  const take_figures f        = take_check_figures(l->check);
  const double       mains_hz = align_mains_hz(l->parts, l->setup);
  l->result.lines             = take_words(&f, l->is_aligned, mains_hz);
  l->result.mend              = f.mend;
  l->result.has_playing       = f.has_playing;
  const double gain_db        = ALIGN_RMS_DBFS - f.level_db;
  const bool   is_far = f.has_playing && fabs(gain_db) >= ALIGN_LIMIT_DB;
  l->front_db         = is_far && isfinite(gain_db) ? gain_db : 0.0;
  return audio_mend_changes(&f.mend) || l->front_db != 0.0;
}

/// Decides what the pass that ends is worth
static void
end_pass(take_look* l)
{
  const bool is_changed = l->check && take_figures_in(l);
  ++l->n_passes;
  if (!l->is_aligned || !l->result.has_playing) {
    l->is_done = true;
  } else if (!is_changed) {
    const double now_db = align_db(l->alignment);
    l->front_db += now_db;
    l->is_done =
      fabs(now_db) < ALIGN_LIMIT_DB - 1e-3 || l->n_passes == MAX_PASSES;
    l->result.align_db = l->front_db;
  }
  close_pass(l);
}

bool
take_look_run(take_look* l, const volatile sig_atomic_t* stop, failure* f)
{
  int64_t got = l->is_done ? 0 : HOST_BLOCK_FRAMES;
  while (got == HOST_BLOCK_FRAMES) {
    if (*stop) {
      return fail_with(f, "%s", "");
    }
    got = audio_in_read(l->in, l->x, HOST_BLOCK_FRAMES, f);
    if (got < 0 || !play_block(l, (uint32_t)got, f)) {
      return false;
    }
  }
  if (!l->is_done) {
    end_pass(l);
  }
  return true;
}

bool
take_look_is_done(const take_look* l)
{
  return l->is_done;
}

bool
take_look_again(take_look* l, failure* f)
{
  return open_pass(l, f);
}

bool
take_look_all(take_look* l, const volatile sig_atomic_t* stop, failure* f)
{
  bool ok = take_look_run(l, stop, f);
  while (ok && !l->is_done) {
    ok = take_look_again(l, f) && take_look_run(l, stop, f);
  }
  return ok;
}

const take_result*
take_look_result(const take_look* l)
{
  return &l->result;
}
