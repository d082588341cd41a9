// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_runs.h"

#include <math.h>

#define MIN_FLAT_FRAMES 3U
/// A quarter of a period of 10 Hz: what is flat for longer is no top
#define MAX_FLAT_S 0.025
/// 0.1 dB of the peak
#define NEAR_TOP 0.0115F
/// Quantisation steps into and out of a flat top
#define STEPS 3.0F

#define HOLD_S    0.005
#define MIN_GAP_S 0.001
#define MAX_GAP_S 0.1
/// Jump into or out of a dropout, re the peaks beside it
#define JUMP 0.1F
/// And in quantisation steps: a coarse wave comes to its zeros step by step
#define JUMP_STEPS 10.0F

// Unlike fmaxf() one instruction: the samples are finite
static float
max_of(float a, float b)
{
  return a > b ? a : b;
}

static float
min_of(float a, float b)
{
  return a < b ? a : b;
}

void
take_runs_init(take_runs* r, double rate_hz)
{
  *r = (take_runs){
    .hold_frames   = (uint32_t)lrint(HOLD_S * rate_hz),
    .min_gap       = (uint32_t)lrint(MIN_GAP_S * rate_hz),
    .max_gap       = (uint32_t)lrint(MAX_GAP_S * rate_hz),
    .max_flat      = (uint32_t)lrint(MAX_FLAT_S * rate_hz),
    .high          = -INFINITY,
    .low           = INFINITY,
    .smallest_step = INFINITY,
  };
}

run_count
run_count_sum(run_count a, run_count b)
{
  const bool is_b = b.n && (!a.n || b.first < a.first);
  return (run_count){.n        = a.n + b.n,
                     .n_frames = a.n_frames + b.n_frames,
                     .first    = is_b ? b.first : a.first};
}

static void
count_run(run_count* c, uint64_t first, uint64_t n_frames)
{
  *c = run_count_sum(*c, (run_count){1, n_frames, first});
}

/// Counts a flat top if none is higher yet
static void
add_flat(take_runs* r, flat_side* s, float level, bool is_steep)
{
  const float near = NEAR_TOP * r->peak;
  if (!s->all.n || level > s->top + near) {
    *s = (flat_side){.top = level};
  }
  if (level >= s->top - near) {
    s->top = fmaxf(s->top, level);
    count_run(&s->all, r->at - r->run, r->run);
    if (is_steep) {
      count_run(&s->steep, r->at - r->run, r->run);
    }
  }
}

/// Looks at a run that ends before `x`
static void
end_flat(take_runs* r, float x)
{
  const float least = STEPS * r->smallest_step;
  const float out   = r->last - x;
  const bool  is_steep =
    fabsf(r->step_in) >= least && fabsf(out) >= least && isfinite(least);
  if (!r->is_whole || r->run > r->max_flat) {
    return;
  }
  if (r->step_in > 0.0F && out > 0.0F) {
    add_flat(r, &r->flat[0], r->last, is_steep);
  } else if (r->step_in < 0.0F && out < 0.0F) {
    add_flat(r, &r->flat[1], -r->last, is_steep);
  }
}

/// Notes a run of zeros that ends before `x`; what follows decides
static void
end_gap(take_runs* r, float x)
{
  if (r->is_whole && r->run >= r->min_gap && r->run <= r->max_gap) {
    r->gap_first  = r->at - r->run;
    r->gap_frames = r->run;
    r->gap_before = fmaxf(r->hold, r->hold_before);
    r->gap_after  = 0.0F;
    r->gap_jump   = fmaxf(fabsf(r->before), fabsf(x));
    r->gap_wait   = r->hold_frames;
  }
}

static void
file_gap(take_runs* r)
{
  const float beside = fminf(r->gap_before, r->gap_after);
  const float jump   = fmaxf(JUMP * beside, JUMP_STEPS * r->smallest_step);
  if (beside > 0.0F && r->gap_jump >= jump) {
    const double db = 20.0 * log10((double)beside) - TAKE_RUNS_LOW_DB;
    const double in = fmin(fmax(floor(db), 0.0), TAKE_RUNS_BINS - 1.0);
    count_run(&r->gaps[(uint32_t)in], r->gap_first, r->gap_frames);
  }
}

/// Keeps the peaks beside a dropout; silence does not count as beside
static void
hold_peak(take_runs* r, float magnitude)
{
  if (magnitude > 0.0F) {
    r->hold = max_of(r->hold, magnitude);
    if (++r->n_hold >= r->hold_frames) {
      r->hold_before = r->hold;
      r->hold        = 0.0F;
      r->n_hold      = 0;
    }
  }
  if (r->gap_wait) {
    r->gap_after = max_of(r->gap_after, magnitude);
    if (!--r->gap_wait) {
      file_gap(r);
    }
  }
}

static void
start_run(take_runs* r, float x)
{
  const float step = x - r->last;
  if (r->at) {
    r->smallest_step = min_of(r->smallest_step, fabsf(step));
  }
  r->before   = r->last;
  r->step_in  = step;
  r->is_whole = r->at > 0;
  r->run      = 0;
  r->last     = x;
}

void
take_runs_add(take_runs* r, const float* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    if (x[i] != r->last || !r->at) {
      if (r->run >= MIN_FLAT_FRAMES) {
        end_flat(r, x[i]);
        if (r->last == 0.0F) {
          end_gap(r, x[i]);
        }
      }
      start_run(r, x[i]);
      r->high = max_of(r->high, x[i]);
      r->low  = min_of(r->low, x[i]);
      r->peak = max_of(r->peak, fabsf(x[i]));
    }
    hold_peak(r, fabsf(x[i]));
    ++r->run;
    ++r->at;
  }
}

/// Returns whether the flat tops of a side are at its very top
static bool
is_at_top(const take_runs* r, int side)
{
  const float top = side ? -r->low : r->high;
  return r->flat[side].steep.n && r->flat[side].top >= top - NEAR_TOP * r->peak;
}

run_count
take_runs_clipped(const take_runs* r)
{
  run_count sum = {0, 0, 0};
  for (int side = 0; side < 2; ++side) {
    if (is_at_top(r, side)) {
      sum = run_count_sum(sum, r->flat[side].all);
    }
  }
  return sum;
}

float
take_runs_rail(const take_runs* r)
{
  float rail = 0.0F;
  for (int side = 0; side < 2; ++side) {
    if (is_at_top(r, side)) {
      rail = fmaxf(rail, fabsf(r->flat[side].top));
    }
  }
  return rail;
}

run_count
take_runs_dropouts(const take_runs* r, double above_dbfs)
{
  run_count    sum  = {0, 0, 0};
  const double from = ceil(above_dbfs - TAKE_RUNS_LOW_DB);
  for (uint32_t i = 0; i < TAKE_RUNS_BINS; ++i) {
    if ((double)i >= from) {
      sum = run_count_sum(sum, r->gaps[i]);
    }
  }
  return sum;
}
