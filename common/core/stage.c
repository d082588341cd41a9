// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stage.h"

#include <stdint.h>
#include <string.h>

/// Grid lines of `seconds`, less one: any silence so long has that many whole
static uint32_t
lines_of(double seconds, double rate_hz)
{
  return (uint32_t)(seconds * rate_hz / CONTROL_FRAMES) - 1U;
}

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
                .is_heard   = true,
                .mute_lines = lines_of(STAGE_MUTE_S, rate_hz),
                .stop_lines = lines_of(STAGE_STOP_S, rate_hz),
                .rest_lines = lines_of(STAGE_REST_S, rate_hz)};
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

// ---------------------------------------------------------------------------
// Standing

/// Stands from the next frame on, with its memory cleared
static void
stand(stage* st)
{
  st->mode     = STAGE_STANDS;
  st->phase    = 0;
  st->is_stale = false;
  st->ops->reset(st->state);
}

/// Begins to clear the memory within `n_lines`
static void
begin_clearing(stage* st, uint32_t n_lines)
{
  clearing_begin(&st->clears, st->ops->memory, st->state, n_lines);
}

static void
clear(stage* st)
{
  clearing_step(&st->clears, st->ops->memory, st->state);
}

void
stage_reset(stage* st)
{
  begin_clearing(st, 1);
  clear(st);
  if (st->ops->forget) {
    st->ops->forget(st->state);
  }
  stand(st);
}

void
stage_set(stage* st, const float* values)
{
  st->is_stale = true;
  st->ops->set(st->state, values);
}

void
stage_pass(stage* st, uint32_t n)
{
  // Ready for the controls before the sound comes, a part per grid line
  for (uint32_t i = 0; st->is_stale && i < n; i += CONTROL_FRAMES) {
    if (!st->ops->prepare || !st->ops->prepare(st->state)) {
      stand(st);
    }
  }
}

void
stage_wake(stage* st)
{
  if (st->is_stale) {
    stand(st);
  }
  st->mode        = STAGE_PLAYS;
  st->is_muted    = false;
  st->quiet_lines = st->zero_lines = 0;
}

// ---------------------------------------------------------------------------
// The grid

static void
begin_line(stage* st)
{
  st->is_loud = st->is_nonzero = false;
  if (st->mode == STAGE_CLEARS) {
    clear(st);
  } else {
    st->ops->control(st->state);
  }
}

static void
end_line(stage* st)
{
  st->quiet_lines = st->is_loud ? 0 : st->quiet_lines + 1U;
  st->zero_lines  = st->is_nonzero ? 0 : st->zero_lines + 1U;
  st->is_muted    = st->is_muted || st->quiet_lines >= st->mute_lines;
  if (st->zero_lines >= st->rest_lines) {
    stand(st);
  } else if (st->zero_lines >= st->stop_lines && st->mode == STAGE_PLAYS) {
    st->mode = STAGE_CLEARS;
    begin_clearing(st, st->rest_lines - st->stop_lines);
  }
}

/// Goes on playing within a line: catches up, unheard, on its silence
static void
go_on(stage* st)
{
  float  zeros[MAX_CHANNELS][CONTROL_FRAMES] = {{0.0F}};
  float* x[MAX_CHANNELS]                     = {NULL};
  for (uint32_t k = 0; k < st->n_channels; ++k) {
    x[k] = zeros[k];
  }
  st->mode = STAGE_PLAYS;
  st->ops->control(st->state);
  if (st->phase) {
    st->ops->process(st->state, (const float* const*)x, x, st->phase);
  }
}

// ---------------------------------------------------------------------------
// Sound

/// Frames before the first one above `most`, in any channel
static uint32_t
frames_within(float               most,
              const float* const* x,
              uint32_t            n_channels,
              uint32_t            n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    uint32_t i = 0;
    // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): n_channels are there
    while (i < n && fabsf(x[k][i]) <= most) {
      ++i;
    }
    n = i;
  }
  return n;
}

static uint32_t
silent_frames(const float* const* x, uint32_t n_channels, uint32_t n)
{
  return frames_within(0.0F, x, n_channels, n);
}

static void
silence(float* const* out, uint32_t n_channels, uint32_t n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    // NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage): as above
    memset(out[k], 0, n * sizeof(float));
  }
}

/// Ends a tail, or goes on with it, in `n` frames of which the first `silent`
/// have no input
static void
end_tail(stage* st, float* const* out, uint32_t silent, uint32_t n)
{
  const uint32_t     n_channels = st->n_channels;
  const float* const x[]        = {out[0], out[n_channels - 1U]};
  const uint32_t     quiet =
    st->is_heard ? frames_within(STAGE_QUIET, x, n_channels, silent) : silent;
  if (st->is_muted) {
    silence(out, n_channels, quiet);
    st->is_muted = quiet == n;
  }
  st->is_loud    = st->is_loud || quiet < n;
  st->is_nonzero = st->is_nonzero || silent < n ||
                   (st->is_heard && silent_frames(x, n_channels, n) < n);
}

/// Runs frames of a grid line
static void
run(stage* st, const float* const* in, float* const* out, uint32_t n)
{
  const uint32_t silent = silent_frames(in, st->n_channels, n);
  const bool     clears = st->mode == STAGE_CLEARS;
  if (clears && silent == n) {
    silence(out, st->n_channels, n);
    return;
  }
  if (clears) {
    go_on(st);
  }
  st->ops->process(st->state, in, out, n);
  if (clears) { // As if the block had begun with the sound
    silence(out, st->n_channels, silent);
  }
  end_tail(st, out, silent, n);
}

/// Plays up to the next grid line.  Returns the frames played.
static uint32_t
play(stage* st, const float* const* in, float* const* out, uint32_t n)
{
  if (st->phase == 0) {
    begin_line(st);
  }
  run(st, in, out, n);
  st->phase += n;
  if (st->phase == CONTROL_FRAMES) {
    st->phase = 0;
    end_line(st);
  }
  return n;
}

/// Stands for the zeros at the start, and wakes if that is not all.  Returns
/// their number.
static uint32_t
pass(stage* st, const float* const* in, float* const* out, uint32_t n)
{
  const uint32_t silent = silent_frames(in, st->n_channels, n);
  silence(out, st->n_channels, silent);
  stage_pass(st, silent);
  if (silent < n) {
    stage_wake(st);
  }
  return silent;
}

void
stage_process(stage*              st,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n)
{
  for (uint32_t done = 0; done < n;) {
    const uint32_t left = CONTROL_FRAMES - st->phase;
    const uint32_t m    = n - done < left ? n - done : left;
    const float*   i[MAX_CHANNELS];
    float*         o[MAX_CHANNELS];
    for (uint32_t k = 0; k < n_channels; ++k) {
      i[k] = in[k] + done;
      o[k] = out[k] + done;
    }
    done += st->mode == STAGE_STANDS ? pass(st, i, o, m) : play(st, i, o, m);
  }
}
