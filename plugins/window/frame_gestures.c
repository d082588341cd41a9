// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a hand does in one go, told to the host and kept to be undone

#include "frame_state.h"

#include <string.h>

#define WHEEL_S 0.3 // A wheel's gesture ends so long after its last step

void
value_touch(frame* f, uint32_t param, bool is_held)
{
  f->is_touched[param] = is_held;
  if (f->host.touch) {
    f->host.touch(f->host.handle, param, is_held);
  }
}

void
value_put(frame* f, uint32_t param, float value)
{
  value_touch(f, param, true);
  value_write(f, param, value);
  value_touch(f, param, false);
}

void
gesture_begin(frame* f)
{
  gesture_end(f);
  f->is_open = true;
  f->open    = (gesture){.kind = GESTURE_MOVE};
  parts_keep(f);
}

/// Returns the part of the open gesture that moves a control, touching it first
static move*
open_move(frame* f, uint32_t param)
{
  for (uint32_t i = 0; i < f->open.n; ++i) {
    if (f->open.moves[i].param == param) {
      return &f->open.moves[i];
    }
  }
  if (f->open.n == PAST_PARAMS) {
    return NULL;
  }
  move* const m    = &f->open.moves[f->open.n++];
  const float from = memory_value(f, param);
  *m               = (move){param, from, from};
  if (!f->open.is_alone) {
    follow_lead(&f->group, param);
  }
  value_touch(f, param, true);
  return m;
}

void
gesture_set(frame* f, uint32_t param, float value)
{
  move* const m = open_move(f, param);
  if (!m) {
    return;
  }
  m->to = value;
  if (param == f->trim) {
    compare_leave(f); // The hand knows better
  }
  if (value != f->value[param]) {
    value_write(f, param, value);
    memory_moved(f, param);
    follow_lead_to(&f->group, param);
  }
}

void
gesture_move(frame* f, uint32_t param, double wanted)
{
  gesture_set(f, param, control_round(frame_info(f, param), wanted));
}

void
history_keep(frame* f, const gesture* g)
{
  history* const h = &f->kept->undo;
  h->n             = h->at; // Forgets what was undone
  if (h->n == PAST_STEPS) {
    memmove(h->steps, h->steps + 1, (PAST_STEPS - 1) * sizeof(*g));
    --h->n;
  }
  h->steps[h->n++] = *g;
  h->at            = h->n;
  kept_mark(f);
  f->bands |= BAND_HEADER;
}

void
gesture_end(frame* f)
{
  if (!f->is_open) {
    return;
  }
  bool has_moved = false;
  for (uint32_t i = 0; i < f->open.n; ++i) {
    const move* const m = &f->open.moves[i];
    value_touch(f, m->param, false);
    has_moved = has_moved || m->from != m->to;
  }
  group_replay(f, &f->open);
  if (has_moved) {
    history_keep(f, &f->open);
  }
  f->is_open = false;
  f->wheel_s = 0;
  parts_release(f);
  f->bands |= BAND_HEADER | BAND_ROWS | BAND_FIGURES;
}

void
gesture_once(frame* f, uint32_t param, double wanted)
{
  gesture_begin(f);
  gesture_move(f, param, wanted);
  gesture_end(f);
}

void
gesture_wheel(frame* f, uint32_t param, double wanted)
{
  const bool goes_on =
    f->wheel_s > 0 && f->open.n == 1 && f->open.moves[0].param == param;
  if (!goes_on) {
    gesture_begin(f);
  }
  gesture_move(f, param, wanted);
  f->wheel_s = f->now_s + WHEEL_S;
}

// ---------------------------------------------------------------------------
// Undo

bool
history_can_undo(const frame* f)
{
  return f->kept->undo.at > 0 && !f->blind.is_on;
}

bool
history_can_redo(const frame* f)
{
  return f->kept->undo.at < f->kept->undo.n && !f->blind.is_on;
}

const move*
history_last(const frame* f, uint32_t param)
{
  const history* const h = &f->kept->undo;
  for (uint32_t i = h->at; i > 0; --i) {
    const gesture* const g = &h->steps[i - 1];
    for (uint32_t k = 0; g->kind == GESTURE_MOVE && k < g->n; ++k) {
      if (g->moves[k].param == param && g->moves[k].from != g->moves[k].to) {
        return &g->moves[k];
      }
    }
  }
  return NULL;
}

void
history_undo(frame* f)
{
  gesture_end(f);
  if (history_can_undo(f)) {
    memory_replay(f, &f->kept->undo.steps[--f->kept->undo.at], true);
    f->bands |= BAND_HEADER;
  }
}

void
history_redo(frame* f)
{
  gesture_end(f);
  if (history_can_redo(f)) {
    memory_replay(f, &f->kept->undo.steps[f->kept->undo.at++], false);
    f->bands |= BAND_HEADER;
  }
}
