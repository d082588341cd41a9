// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>
#include <string.h>

#define ECHO_S       0.15 // Hosts echo what was written, late and thinned out
#define MATCH_S      3.0
#define SILENCE_DBFS (-70.0F) // As where the change of level is measured

// Nothing new for so long, longer than what any change goes on to do, and the
// sheet looks at the rest less often
#define AWAKE_S 5.0
#define REST_S  0.09 // Every third of a host's calls

static void
show(frame* f, uint32_t param)
{
  const char* const symbol = frame_info(f, param)->symbol;
  f->bands |=
    strcmp(symbol, "enabled")
      ? BAND_ROWS | BAND_FIGURES | BAND_LEVELS | BAND_HELP | BAND_HEADER
      : BAND_ALL;
}

void
value_write(frame* f, uint32_t param, float value)
{
  f->value[param]     = value;
  f->written_s[param] = f->now_s;
  ++f->news;
  f->is_late[param] = false;
  f->counted_s      = 0;
  show(f, param);
  f->host.write(f->host.handle, param, value);
}

void
value_keep(frame* f, uint32_t param, float value)
{
  f->value[param]     = value;
  f->written_s[param] = f->now_s;
  ++f->news;
  f->is_late[param] = false;
  f->host.write(f->host.handle, param, value);
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
    gesture_begin(f);
    f->open.is_alone = true; // It fits one track
    gesture_move(f, (uint32_t)trim,
                 (double)f->value[trim] - (double)m.change_db);
    gesture_end(f);
  }
}

bool
frame_can_act(const frame* f)
{
  const picture_view v     = frame_view(f);
  float              value = 0;
  return f->pic->act && !f->blind.is_on && // Its figure is hidden then
         f->pic->act->value(&v, &value);
}

void
frame_act(frame* f)
{
  const picture_view v     = frame_view(f);
  float              value = 0;
  if (frame_can_act(f) && f->pic->act->value(&v, &value)) {
    gesture_once(f, SHELL_FIRST_PARAMS + f->pic->act->row, (double)value);
  }
}

// ---------------------------------------------------------------------------
// From the host

/// Takes a value that the host has, ours or another
static void
take(frame* f, uint32_t param, float value)
{
  if (f->value[param] == value) {
    f->news += !f->is_known[param];
    f->is_known[param] = true;
    return;
  }
  if (f->is_known[param]) {
    f->moved_s[param] = f->now_s;
  }
  f->is_known[param] = true;
  f->value[param]    = value;
  ++f->news;
  if (frame_info(f, param)->is_hidden) {
    follow_take(&f->group, param, value);
    track_row_took(f, param);
    return;
  }
  f->counted_s = 0;
  memory_moved(f, param);
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
    ++f->news;
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
    const bool could = frame_can_act(f);
    f->meter[meter]  = value;
    ++f->meter_news;
    if (could != frame_can_act(f)) {
      f->bands |= BAND_FIGURES | BAND_HELP;
    }
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
    const double led   = f->followed_s[i] + 1.0;
    if ((led > before_s && led <= f->now_s) ||
        (moved > before_s && moved <= f->now_s) ||
        (held > before_s && held <= f->now_s)) {
      f->bands |= BAND_ROWS | BAND_LEVELS;
    }
  }
}

/// Whether nothing comes from host, hand and other windows: only files, setups'
/// or the ground's, may have changed, and a group's silence ended
static bool
is_at_rest(frame* f)
{
  if (f->news != f->seen_news || f->meter_news != f->seen_meter_news ||
      frame_is_playing(f)) {
    f->seen_news       = f->news;
    f->seen_meter_news = f->meter_news;
    f->woken_s         = f->now_s;
  }
  const double since_s = f->now_s - f->looked_s;
  return f->now_s - f->woken_s > AWAKE_S && since_s >= 0 && since_s < REST_S;
}

void
frame_tick(frame* f, double now_s)
{
  f->now_s = now_s;
  if (is_at_rest(f)) {
    return;
  }
  const double before_s = f->looked_s;
  const bool   could    = frame_can_match(f);
  const double passed_s = fmin(fmax(now_s - before_s, 0), 0.25);
  f->looked_s           = now_s;
  if (frame_is_playing(f)) {
    f->counted_s += passed_s;
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
  kept_tick(f);
  group_tick(f);
  compare_tick(f, passed_s);
  track_row_listen(f, passed_s);
  loaded_tick(f);
  if (!f->is_open) {
    memcpy(f->settled, f->value, sizeof(f->settled));
  }
  meter_past_add(f->past, now_s, f->meter, f->n_meters, frame_is_playing(f));
  parts_tick(f);
}
