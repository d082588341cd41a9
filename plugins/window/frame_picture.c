// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <stdlib.h>
#include <string.h>

#define COARSE_S  0.1  // While a hand moves, no more often
#define PLAYING_S 0.25 // What follows the playing changes so often
#define RETRY_S   0.5

picture_view
frame_view(const frame* f)
{
  picture_view v = {
    .values     = f->value + SHELL_FIRST_PARAMS,
    .settled    = f->settled + SHELL_FIRST_PARAMS,
    .meters     = f->meter + shell_n_meters,
    .is_playing = frame_is_playing(f),
    .past       = f->past,
    .figure     = f->figure,
    .result     = f->results,
    .before     = f->befores,
  };
  v.is_off = f->value[ENABLED] <= 0.0F;
  memcpy(&v.levels, f->meter, sizeof(v.levels));
  return v;
}

bool
parts_make(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    const picture_part* const part = &f->pic->parts[i];
    part_state* const         s    = &f->parts[i];
    s->work                        = job_new(f->form.plugin->ops, part);
    s->result                      = calloc(1, part->size);
    s->before                      = calloc(1, part->size);
    if (!s->work || !s->result || !s->before) {
      return false;
    }
  }
  return true;
}

void
parts_free(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    part_state* const s = &f->parts[i];
    job_free(s->work);
    free(s->result);
    free(s->before);
  }
}

/// What pictures may look at: results that are there
static void
publish(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    f->results[i] = f->parts[i].has_result ? f->parts[i].result : NULL;
    f->befores[i] = f->parts[i].has_before ? f->parts[i].before : NULL;
  }
}

static uint32_t
inputs_of(const frame* f, uint32_t i, float* inputs)
{
  const picture_view v = frame_view(f);
  if (f->pic->parts[i].inputs) {
    return f->pic->parts[i].inputs(&v, inputs);
  }
  const uint32_t n = f->form.plugin->ops->n_params;
  memcpy(inputs, v.values, n * sizeof(float));
  return n;
}

static void
take_result(frame* f, part_state* s)
{
  switch (job_take(s->work, s->result)) {
    case JOB_DONE:
      s->has_result = true;
      s->has_failed = false;
      publish(f);
      f->bands |= BAND_FIGURES;
      break;
    case JOB_FAILED:
      s->n_asked    = 0;
      s->has_failed = true;
      break;
    default:
      break;
  }
}

static void
part_tick(frame* f, uint32_t i)
{
  part_state* const s       = &f->parts[i];
  const bool        is_hand = f->is_open;
  float             inputs[PICTURE_MAX_INPUTS];
  take_result(f, s);

  const uint32_t n = inputs_of(f, i, inputs);
  const bool     is_new =
    n != s->n_asked || memcmp(inputs, s->asked, n * sizeof(float)) != 0;
  if (job_is_busy(s->work)) {
    if (is_new && is_hand && !s->is_coarse) {
      job_stop(s->work); // A whole one takes too long to be of use
    }
    return;
  }
  if (!is_new && (is_hand || !s->is_coarse)) {
    return;
  }
  const double since_s = f->now_s - s->asked_s;
  if (!is_hand && !s->is_coarse && s->has_result && since_s < PLAYING_S &&
      since_s >= 0) {
    return;
  }
  const double wait_s = s->has_failed && !is_hand ? RETRY_S : COARSE_S;
  if ((is_hand || s->has_failed) && f->now_s - s->asked_s < wait_s &&
      f->now_s >= s->asked_s) {
    return;
  }
  if (job_start(s->work, inputs, n, is_hand)) {
    memcpy(s->asked, inputs, n * sizeof(float));
    s->n_asked   = n;
    s->is_coarse = is_hand;
    s->asked_s   = f->now_s;
  }
}

void
parts_tick(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    part_tick(f, i);
  }
}

bool
frame_is_settled(const frame* f)
{
  float inputs[PICTURE_MAX_INPUTS];
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    const part_state* const s = &f->parts[i];
    const uint32_t          n = inputs_of(f, i, inputs);
    if (!s->has_result || s->is_coarse || n != s->n_asked ||
        memcmp(inputs, s->asked, n * sizeof(float)) != 0 ||
        job_is_busy(s->work)) {
      return false;
    }
  }
  return true;
}

void
parts_keep(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    part_state* const s = &f->parts[i];
    if (s->has_result) {
      memcpy(s->before, s->result, f->pic->parts[i].size);
      s->has_before = true;
    }
  }
  publish(f);
}

void
parts_release(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_parts; ++i) {
    f->parts[i].has_before = false;
  }
  publish(f);
}
