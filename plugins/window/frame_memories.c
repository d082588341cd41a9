// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include "plugins/setup/setup_part.h"

bool
memory_holds(const frame* f, uint32_t param)
{
  return param == f->trim ||
         (shell_param_is_stages(f->form.plugin, param) &&
          !setup_part_is_of_track(f->form.plugin->stem,
                                  frame_info(f, param)->symbol));
}

float
memory_value(const frame* f, uint32_t param)
{
  return param == f->trim && f->compare.is_comparing ? f->compare.stored_db
                                                     : f->value[param];
}

void
memory_store(frame* f)
{
  memory* const m = &f->kept->of[f->kept->now];
  for (uint32_t i = 0; i < f->n_params; ++i) {
    m->value[i] = memory_value(f, i);
  }
}

void
memories_make(frame* f)
{
  window_past* const k = f->kept;
  if (!k->is_made) {
    memory_store(f);
    k->of[1 - k->now] = k->of[k->now];
    k->is_made        = true;
  }
}

bool
memories_differ(const frame* f)
{
  const memory* const other = &f->kept->of[1 - f->kept->now];
  for (uint32_t i = 0; f->kept->is_made && i < f->n_params; ++i) {
    if (memory_holds(f, i) && other->value[i] != memory_value(f, i)) {
      return true;
    }
  }
  return false;
}

void
memory_moved(frame* f, uint32_t param)
{
  if (param == f->trim) {
    return; // Its share is known
  }
  if (memory_holds(f, param)) {
    f->kept->of[f->kept->now].is_heard = false;
  }
  f->compare.heard_s = f->compare.steady_s = 0;
  track_row_moved(f, param);
}

// ---------------------------------------------------------------------------
// Calling up

/// Moves all controls, never louder in between: a trim that goes down goes
/// first
static void
play(frame* f, const move* moves, uint32_t n, bool is_back)
{
  float stored_db = memory_value(f, f->trim);
  for (uint32_t i = 0; i < n; ++i) {
    if (moves[i].param == f->trim) {
      stored_db = is_back ? moves[i].from : moves[i].to;
    }
  }
  const bool is_last = compare_trim(f, stored_db) > f->value[f->trim];
  if (!is_last) {
    compare_play(f, stored_db);
  }
  for (uint32_t i = 0; i < n; ++i) {
    if (moves[i].param != f->trim) {
      value_put(f, moves[i].param, is_back ? moves[i].from : moves[i].to);
    }
  }
  if (is_last) {
    compare_play(f, stored_db);
  }
}

/// Writes how the present values differ from those of the other memory
static uint32_t
differences(const frame* f, move* moves)
{
  const memory* const other = &f->kept->of[1 - f->kept->now];
  uint32_t            n     = 0;
  for (uint32_t i = 0; i < f->n_params; ++i) {
    const float now = memory_value(f, i);
    if (memory_holds(f, i) && other->value[i] != now) {
      moves[n++] = (move){i, now, other->value[i]};
    }
  }
  return n;
}

void
memory_turn(frame* f, uint32_t which)
{
  move moves[PAST_PARAMS];
  if (which == f->kept->now) {
    return;
  }
  gesture_end(f);
  memories_make(f);
  memory_store(f);
  const uint32_t n   = differences(f, moves);
  f->kept->now       = which;
  f->compare.heard_s = f->compare.steady_s = 0;
  play(f, moves, n, false);
  f->bands = BAND_ALL;
}

void
memory_call(frame* f, uint32_t which)
{
  const gesture g = {.kind = GESTURE_SWITCH};
  if (which != f->kept->now) {
    memory_turn(f, which);
    history_keep(f, &g);
  }
}

// ---------------------------------------------------------------------------
// Copying, and undo

void
memory_copy(frame* f)
{
  gesture g = {.kind = GESTURE_COPY};
  gesture_end(f);
  memories_make(f);
  memory_store(f);
  const memory* const now   = &f->kept->of[f->kept->now];
  memory* const       other = &f->kept->of[1 - f->kept->now];
  g.n                       = differences(f, g.moves);
  for (uint32_t i = 0; i < g.n; ++i) { // To the other, not to this one
    move* const m = &g.moves[i];
    *m            = (move){m->param, m->to, m->from};
  }
  if (g.n > 0) {
    *other = *now;
    history_keep(f, &g);
  }
  f->bands |= BAND_HEADER | BAND_LEVELS;
}

static void
replay_copy(frame* f, const gesture* g, bool is_back)
{
  memory* const other = &f->kept->of[1 - f->kept->now];
  for (uint32_t i = 0; i < g->n; ++i) {
    const move* const m    = &g->moves[i];
    other->value[m->param] = is_back ? m->from : m->to;
  }
  other->is_heard = false;
  f->bands |= BAND_HEADER | BAND_LEVELS;
}

void
memory_replay(frame* f, const gesture* g, bool is_back)
{
  switch (g->kind) {
    case GESTURE_SWITCH:
      memory_turn(f, 1 - f->kept->now);
      break;
    case GESTURE_COPY:
      replay_copy(f, g, is_back);
      break;
    default:
      for (uint32_t i = 0; i < g->n && !g->is_alone; ++i) {
        follow_lead(&f->group, g->moves[i].param);
      }
      play(f, g->moves, g->n, is_back);
      group_replay(f, g);
      for (uint32_t i = 0; i < g->n; ++i) {
        memory_moved(f, g->moves[i].param);
      }
      break;
  }
}

// ---------------------------------------------------------------------------
// Words and keys

void
memory_act(frame* f, const item* it, bool is_shift)
{
  if (it->kind == ITEM_BLIND) {
    f->blind.is_on ? blind_tell(f) : blind_begin(f);
    layout_build(f);
  } else if (f->blind.is_on) {
    blind_call(f, it->param);
  } else if (is_shift && it->param != f->kept->now) {
    memory_copy(f);
  } else {
    memory_call(f, it->param);
  }
}

void
memory_swap(frame* f, bool is_copy)
{
  menu_close(f);
  if (f->blind.is_on) {
    blind_call(f, 1 - blind_now(f));
  } else if (is_copy) {
    memory_copy(f);
  } else {
    memory_call(f, 1 - f->kept->now);
  }
}
