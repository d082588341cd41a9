// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>
#include <string.h>

#define WHEEL_S      0.3  // A wheel's gesture ends so long after its last step
#define ECHO_S       0.15 // Hosts echo what was written, late and thinned out
#define MATCH_S      3.0
#define SILENCE_DBFS (-70.0F) // As where the change of level is measured

// ---------------------------------------------------------------------------
// Gestures

static void
touch(frame* f, uint32_t param, bool is_held)
{
  f->is_touched[param] = is_held;
  if (f->host.touch) {
    f->host.touch(f->host.handle, param, is_held);
  }
}

static void
show(frame* f, uint32_t param)
{
  const char* const symbol = frame_info(f, param)->symbol;
  f->bands |=
    strcmp(symbol, "enabled")
      ? BAND_ROWS | BAND_FIGURES | BAND_LEVELS | BAND_HELP | BAND_HEADER
      : BAND_ALL;
}

static void
write_value(frame* f, uint32_t param, float value)
{
  f->value[param]     = value;
  f->written_s[param] = f->now_s;
  f->is_late[param]   = false;
  f->counted_s        = 0;
  show(f, param);
  f->host.write(f->host.handle, param, value);
}

void
gesture_begin(frame* f)
{
  gesture_end(f);
  f->is_open = true;
  f->open.n  = 0;
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
  if (f->open.n == FRAME_UNDO_PARTS) {
    return NULL;
  }
  move* const m = &f->open.moves[f->open.n++];
  *m            = (move){param, f->value[param], f->value[param]};
  touch(f, param, true);
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
  if (value != f->value[param]) {
    write_value(f, param, value);
  }
}

void
gesture_move(frame* f, uint32_t param, double wanted)
{
  gesture_set(f, param, control_round(frame_info(f, param), wanted));
}

/// Forgets what was undone, and the oldest step where there are too many
static void
keep_gesture(history* h, const gesture* g)
{
  h->n = h->at;
  if (h->n == FRAME_UNDO_STEPS) {
    memmove(h->steps, h->steps + 1, (FRAME_UNDO_STEPS - 1) * sizeof(*g));
    --h->n;
  }
  h->steps[h->n++] = *g;
  h->at            = h->n;
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
    touch(f, m->param, false);
    has_moved = has_moved || m->from != m->to;
  }
  if (has_moved) {
    keep_gesture(&f->undo, &f->open);
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
  return f->undo.at > 0;
}

bool
history_can_redo(const frame* f)
{
  return f->undo.at < f->undo.n;
}

/// Writes each control of a gesture, each as a touch of its own
static void
replay(frame* f, const gesture* g, bool is_back)
{
  for (uint32_t i = 0; i < g->n; ++i) {
    const move* const m = &g->moves[i];
    touch(f, m->param, true);
    write_value(f, m->param, is_back ? m->from : m->to);
    touch(f, m->param, false);
  }
  f->bands |= BAND_HEADER;
}

void
history_undo(frame* f)
{
  gesture_end(f);
  if (history_can_undo(f)) {
    replay(f, &f->undo.steps[--f->undo.at], true);
  }
}

void
history_redo(frame* f)
{
  gesture_end(f);
  if (history_can_redo(f)) {
    replay(f, &f->undo.steps[f->undo.at++], false);
  }
}

// ---------------------------------------------------------------------------
// Levels

bool
frame_is_playing(const frame* f)
{
  shell_meters m;
  memcpy(&m, f->meter, sizeof(m));
  return m.in_db > SILENCE_DBFS;
}

bool
frame_can_match(const frame* f)
{
  return f->counted_s >= MATCH_S;
}

void
frame_match(frame* f)
{
  const int    trim = shell_port(f->form.plugin, "trim_db");
  shell_meters m;
  memcpy(&m, f->meter, sizeof(m));
  if (trim >= 0 && frame_can_match(f)) {
    gesture_once(f, (uint32_t)trim,
                 (double)f->value[trim] - (double)m.change_db);
  }
}

// ---------------------------------------------------------------------------
// From the host

/// Takes a value that the host has, ours or another
static void
take(frame* f, uint32_t param, float value)
{
  if (f->value[param] == value) {
    f->is_known[param] = true;
    return;
  }
  if (f->is_known[param]) {
    f->moved_s[param] = f->now_s;
  }
  f->is_known[param] = true;
  f->value[param]    = value;
  f->counted_s       = 0;
  show(f, param);
}

void
frame_take_param(frame* f, uint32_t param, float value)
{
  if (param >= f->n_params || !isfinite(value) || f->is_touched[param]) {
    return; // The hand knows better than its echo
  }
  if (f->now_s - f->written_s[param] < ECHO_S) {
    // Perhaps an old echo of a gesture just ended: the last one counts
    f->is_late[param] = true;
    f->late[param]    = value;
    return;
  }
  take(f, param, control_held(frame_info(f, param), (double)value));
}

/// Takes the echoes that have waited
static void
take_late(frame* f)
{
  for (uint32_t i = 0; i < f->n_params; ++i) {
    if (f->is_late[i] && f->now_s - f->written_s[i] >= ECHO_S) {
      f->is_late[i] = false;
      take(f, i, control_held(frame_info(f, i), (double)f->late[i]));
    }
  }
}

void
frame_take_meter(frame* f, uint32_t meter, float value)
{
  if (meter < f->n_meters && isfinite(value) && value != f->meter[meter]) {
    f->meter[meter] = value;
    ++f->meter_news;
    // The latency stands in the line of help
    f->bands |=
      strcmp(shell_meter(f->form.plugin, meter)->symbol, "latency_frames")
        ? 0U
        : BAND_HELP;
  }
}

/// Marks of something just moved go after their time
static void
fade(frame* f, double before_s)
{
  for (uint32_t i = 0; i < f->n_params; ++i) {
    const double moved = f->moved_s[i] + 1.0;
    const double held  = f->held_s[i] + 2.0;
    if ((moved > before_s && moved <= f->now_s) ||
        (held > before_s && held <= f->now_s)) {
      f->bands |= BAND_ROWS | BAND_LEVELS;
    }
  }
}

void
frame_tick(frame* f, double now_s)
{
  const double before_s = f->now_s;
  const bool   could    = frame_can_match(f);
  f->now_s              = now_s;
  if (frame_is_playing(f)) {
    f->counted_s += fmin(fmax(now_s - before_s, 0), 0.25);
  }
  if (could != frame_can_match(f)) {
    f->bands |= BAND_LEVELS;
  }
  if (f->wheel_s > 0 && now_s >= f->wheel_s) {
    gesture_end(f);
  }
  frame_follow_prefs(f);
  take_late(f);
  fade(f, before_s);
  if (!f->is_open) {
    memcpy(f->settled, f->value, sizeof(f->settled));
  }
  meter_past_add(f->past, now_s, f->meter, f->n_meters, frame_is_playing(f));
  parts_tick(f);
}
