// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "play.h"

#include "presets-demo/render/audio/level_meter.h"

#include <math.h>
#include <string.h>

#define END_S 0.010

typedef struct {
  float        memory[AUDIO_MAX_CHANNELS][HOST_BLOCK_FRAMES];
  float*       x[AUDIO_MAX_CHANNELS];
  uint64_t     n_skip; ///< Latency still to drop
  uint64_t     n_left; ///< Frames still to write; UINT64_MAX until known
  uint64_t     n_end;  ///< Frames of the end to inspect
  float        end_peak;
  play_result* result;
} reel;

/// Fills the block with the input, then with silence.  Once the input ends, the
/// length of the output is known.
static bool
load_block(const play* p, reel* r, failure* f)
{
  const bool    is_over = r->n_left != UINT64_MAX;
  const int64_t got =
    is_over ? 0 : audio_in_read(p->in, r->x, HOST_BLOCK_FRAMES, f);
  if (got < 0) {
    return false;
  }
  r->result->n_in += (uint64_t)got;
  for (uint32_t k = 0; p->gain != 1.0F && k < AUDIO_MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; i < (uint32_t)got; ++i) {
      r->x[k][i] *= p->gain;
    }
  }
  if (got < HOST_BLOCK_FRAMES) {
    for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
      memset(r->x[k] + got, 0,
             (HOST_BLOCK_FRAMES - (size_t)got) * sizeof(float));
    }
  }
  if (!is_over && got < HOST_BLOCK_FRAMES) {
    const uint64_t n_all = r->result->n_in + p->n_tail;
    r->n_left            = n_all - r->result->n_out;
    chain_measure_frames(p->chain, n_all);
  }
  return true;
}

/// Notes the peak of the frames that belong to the end
static void
note_end(reel* r, const float* x, uint32_t n)
{
  const uint64_t before = r->n_left > r->n_end ? r->n_left - r->n_end : 0;
  for (uint64_t i = before; i < n; ++i) {
    r->end_peak = fmaxf(r->end_peak, fabsf(x[i]));
  }
}

static bool
write_block(const play* p, reel* r, failure* f)
{
  const uint32_t n    = HOST_BLOCK_FRAMES;
  const uint32_t skip = r->n_skip < n ? (uint32_t)r->n_skip : n;
  const uint32_t rest = n - skip;
  const uint32_t now  = r->n_left < rest ? (uint32_t)r->n_left : rest;
  const float*   from[AUDIO_MAX_CHANNELS] = {NULL};
  const uint32_t n_out                    = chain_n_out(p->chain);
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
    from[k] = r->x[k] + skip;
  }
  for (uint32_t k = 0; k < n_out && k < AUDIO_MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; p->out_gain != 1.0F && i < now; ++i) {
      r->x[k][skip + i] *= p->out_gain;
    }
    note_end(r, from[k], now);
  }
  r->n_skip -= skip;
  r->n_left -= r->n_left == UINT64_MAX ? 0 : now;
  r->result->n_out += now;
  return !p->out || audio_out_write(p->out, from, now, f);
}

bool
play_all(const play* p, play_result* result, failure* f)
{
  const audio_in_info info = audio_in_get_info(p->in);
  const uint64_t      total =
    info.n_frames < 0 ? 0 : (uint64_t)info.n_frames + p->n_tail;
  reel r = {
    .n_skip = chain_latency_frames(p->chain),
    .n_left = UINT64_MAX,
    .n_end  = (uint64_t)ceil(END_S * info.rate_hz),
    .result = result,
  };
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
    r.x[k] = r.memory[k];
  }
  *result = (play_result){.end_peak_db = -(double)INFINITY};
  while (r.n_left) {
    if (*p->stop) {
      return fail_with(f, "%s", "");
    }
    if (!load_block(p, &r, f) ||
        !chain_run(p->chain, (const float* const*)r.x, r.x, HOST_BLOCK_FRAMES,
                   f) ||
        !write_block(p, &r, f)) {
      return false;
    }
    progress_show(p->bar, result->n_out, total);
  }
  result->end_peak_db = level_power_db((double)r.end_peak * (double)r.end_peak);
  return true;
}
