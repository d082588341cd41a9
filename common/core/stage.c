// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stage.h"

#include <string.h>

bool
stage_init(stage*           st,
           const stage_ops* ops,
           void*            state,
           double           rate_hz,
           uint32_t         n_channels)
{
  // First of all: another rate may not even fit an integer
  if (!dsp_rate_is_valid(rate_hz)) {
    return false;
  }
  *st = (stage){.ops        = ops,
                .state      = state,
                .n_channels = n_channels,
                .rest_lines =
                  (uint32_t)ceil(STAGE_REST_S * rate_hz / CONTROL_FRAMES)};
  if (!ops->init(state, rate_hz, n_channels)) {
    return false;
  }

  float values[PARAMS_MAX];
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
  ops->set(state, values);
  stage_reset(st);
  return true;
}

void
stage_reset(stage* st)
{
  st->phase       = 0;
  st->quiet_lines = 0;
  st->stirred     = false;
  st->resting     = false;
  st->ops->reset(st->state);
}

// ---------------------------------------------------------------------------
// Rest

static void
end_rested_line(stage* st)
{
  if (st->ops->rest) {
    st->ops->rest(st->state);
  }
}

/// Begins a grid line: goes to rest, stays at rest, or moves
static void
begin_line(stage* st)
{
  const stage_ops* const ops = st->ops;
  if (st->resting) {
    end_rested_line(st);
  }
  if (st->stirred) {
    st->quiet_lines = 0;
  } else if (st->quiet_lines < st->rest_lines) {
    ++st->quiet_lines;
  }
  st->stirred = false;

  const bool is_time = ops->rests && st->quiet_lines == st->rest_lines;
  st->resting =
    is_time && (st->resting || !ops->is_calm || ops->is_calm(st->state));
  if (!st->resting) {
    ops->control(st->state);
  }
}

/// Wakes within a line: catches up, unheard, on what was left out
static void
wake(stage* st)
{
  float  zeros[MAX_CHANNELS][CONTROL_FRAMES] = {{0.0F}};
  float* x[MAX_CHANNELS]                     = {NULL};
  for (uint32_t k = 0; k < st->n_channels; ++k) {
    x[k] = zeros[k];
  }
  st->resting = false;
  st->ops->control(st->state);
  if (st->phase) {
    st->ops->process(st->state, (const float* const*)x, x, st->phase);
  }
}

void
stage_set(stage* st, const float* values)
{
  if (st->resting && st->phase) {
    wake(st);
  } else if (st->resting) {
    end_rested_line(st);
    st->resting = false;
  }
  st->stirred = true;
  st->ops->set(st->state, values);
}

/// Frames before the first sound
static uint32_t
silent_frames(const float* const* in, uint32_t n_channels, uint32_t n)
{
  uint32_t least = n;
  for (uint32_t k = 0; k < n_channels; ++k) {
    uint32_t i = 0;
    while (i < least && in[k][i] == 0.0F) {
      ++i;
    }
    least = i;
  }
  return least;
}

static bool
is_quiet(const float* const* out, uint32_t n_channels, uint32_t n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      if (!(fabsf(out[k][i]) < STAGE_QUIET)) {
        return false;
      }
    }
  }
  return true;
}

static void
silence(float* const* out, uint32_t n_channels, uint32_t n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    memset(out[k], 0, n * sizeof(float));
  }
}

/// Runs frames up to the next grid line
static void
run(stage*              st,
    const float* const* in,
    float* const*       out,
    uint32_t            n_channels,
    uint32_t            n)
{
  if (!st->ops->rests) {
    st->ops->process(st->state, in, out, n);
    return;
  }
  const uint32_t silent  = silent_frames(in, n_channels, n);
  const bool     resting = st->resting;
  if (resting && silent == n) {
    silence(out, n_channels, n);
    return;
  }
  if (resting) {
    wake(st);
  }
  st->ops->process(st->state, in, out, n);
  if (resting) { // As if the block had begun with the sound
    silence(out, n_channels, silent);
  }
  st->stirred = st->stirred || silent < n ||
                !is_quiet((const float* const*)out, n_channels, n);
}

void
stage_process(stage*              st,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n)
{
  for (uint32_t done = 0; done < n;) {
    if (st->phase == 0) {
      begin_line(st);
    }

    const uint32_t left = CONTROL_FRAMES - st->phase;
    const uint32_t m    = n - done < left ? n - done : left;
    const float*   i[MAX_CHANNELS];
    float*         o[MAX_CHANNELS];
    for (uint32_t k = 0; k < n_channels; ++k) {
      i[k] = in[k] + done;
      o[k] = out[k] + done;
    }
    run(st, i, o, n_channels, m);

    done += m;
    st->phase = (st->phase + m) % CONTROL_FRAMES;
  }
}
