// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_track_row.h"

#include <math.h>
#include <stdio.h>

// As for A against B (frame_compare.c): what the meter says has settled
#define HEARD_S   4.0
#define STEADY_S  1.0
#define STEADY_DB 0.15

// ---------------------------------------------------------------------------
// What the row asks of the sheet

static void
on_post(void* handle, const window_message* m)
{
  const frame* const f = handle;
  if (f->host.say) {
    f->host.say(f->host.handle, m);
  }
}

/// Writes the row, and whether a comparison has turned this stage off
static void
on_save(void* handle, uint32_t value)
{
  frame* const f = handle;
  value |= f->of_track.has_turned ? TRACK_ROW_TURNED : 0U;
  value_keep(f, (uint32_t)f->of_track.port, (float)value);
}

/// Returns the control as the host has it
static uint32_t
kept_value(const frame* f)
{
  return (uint32_t)f->value[f->of_track.port];
}

static void
on_match(void* handle)
{
  frame* const f = handle;
  if (f->value[EQUAL_LOUDNESS] == 0.0F) {
    value_put(f, EQUAL_LOUDNESS, 1);
  }
}

/// A stage that is off stays as it is
static bool
on_ready(void* handle)
{
  const frame* const f = handle;
  return compare_is_on(f) &&
         (f->of_track.is_heard || f->value[ENABLED] == 0.0F);
}

/// Off, and on again: a session that is saved at any moment in between has the
/// mark, see resume()
static void
on_turn(void* handle, bool is_untreated)
{
  frame* const           f = handle;
  track_row_state* const s = &f->of_track;
  if (is_untreated && f->value[ENABLED] > 0.0F) {
    s->has_turned = true;
    on_save(f, kept_value(f));
    value_put(f, ENABLED, 0);
  } else if (!is_untreated && s->has_turned) {
    s->has_turned = false;
    if (f->value[ENABLED] == 0.0F) { // Else a hand was faster
      value_put(f, ENABLED, 1);
    }
    on_save(f, kept_value(f) & ~TRACK_ROW_TURNED);
  }
  f->bands |= BAND_LEVELS;
}

/// Ends a comparison that no window ended: the session was saved, or the track
/// copied, while its row played untreated, or the window ended with its program
static void
resume(frame* f)
{
  if (f->of_track.has_turned || !(kept_value(f) & TRACK_ROW_TURNED) ||
      !f->is_known[ENABLED] || f->is_open) {
    return;
  }
  if (f->value[ENABLED] == 0.0F) {
    value_put(f, ENABLED, 1);
    frame_say(f, "Left off by a comparison of its row that was not ended: it "
                 "is on again.");
  }
  on_save(f, kept_value(f) & ~TRACK_ROW_TURNED);
}

static void
on_tell(void* handle)
{
  frame* const f = handle;
  char         text[TRACK_ROW_TEXT];
  track_row_says(&f->of_track.row, text);
  frame_say(f, "%s%s", text,
            f->of_track.row.phase == ROW_MEASURES && !frame_is_playing(f)
              ? "; let the track play"
              : "");
}

// ---------------------------------------------------------------------------
// Its place

void
track_row_show(frame* f)
{
  (void)snprintf(f->of_track.name, sizeof(f->of_track.name), "Row %u",
                 f->of_track.row.number);
  layout_build(f);
  f->bands |= BAND_ALL;
}

void
track_row_begin(frame* f)
{
  const track_row_host host = {f,        on_post, on_save, on_match,
                               on_ready, on_turn, on_tell};
  f->of_track.port          = shell_port(f->form.plugin, "row");
  track_row_init(&f->of_track.row, &host, f->group.sender);
}

void
track_row_took(frame* f, uint32_t param)
{
  if ((int)param == f->of_track.port) {
    track_row_take(&f->of_track.row, (uint32_t)f->value[param]);
    track_row_show(f);
  }
}

// ---------------------------------------------------------------------------
// Hearing

void
track_row_moved(frame* f, uint32_t param)
{
  track_row_state* const s = &f->of_track;
  if (param != ENABLED) { // That changes nothing of the treatment
    s->is_heard = false;
    s->heard_s = s->steady_s = 0;
  }
}

void
track_row_listen(frame* f, double passed_s)
{
  track_row_state* const s  = &f->of_track;
  const bool             on = compare_is_on(f);
  resume(f);
  if (on != s->was_on) {
    s->was_on = on;
    track_row_moved(f, EQUAL_LOUDNESS);
  }
  if (on && f->value[ENABLED] > 0.0F && frame_is_playing(f) && passed_s > 0) {
    const double db = (double)f->meter[f->match_meter];
    s->heard_s += passed_s;
    s->steady_s += passed_s;
    if (fabs(db - s->steady_db) > STEADY_DB || s->steady_s == passed_s) {
      s->steady_db = db;
      s->steady_s  = passed_s;
    }
    s->is_heard =
      s->is_heard || (s->heard_s >= HEARD_S && s->steady_s >= STEADY_S);
  }
  track_row_tick(&s->row, f->now_s);
}

void
track_row_compare(frame* f)
{
  if (f->blind.is_on) {
    return;
  }
  if (!f->of_track.row.number) {
    frame_say(f, "In no row: the group menu has its number.");
    return;
  }
  gesture_end(f);
  track_row_press(&f->of_track.row);
}

// ---------------------------------------------------------------------------
// The word

void
track_row_build(frame* f, const chart* c)
{
  if (f->of_track.row.number) {
    (void)layout_add_level(f, c, ITEM_WHOLE_ROW, "row", 434);
  }
}

void
track_row_draw(const frame* f, chart* c, const item* it, int index)
{
  const bool       is_lit = track_row_is_untreated(&f->of_track.row);
  const bool       can    = !f->blind.is_on;
  const double     y      = it->box.y + 15;
  const chart_type type = {.size = 11, .colour = can ? CHART_INK : CHART_GREY};
  chart_text(c, type, it->x, y, "%s", it->name);
  chart_line(c, it->x, y + 3, it->x + it->w, y + 3, 1,
             is_lit ? CHART_BLUE : type.colour);
  if (index == f->focus) {
    chart_frame(c, (chart_box){it->x - 4, y - 12, it->w + 9, 19}, 1, CHART_INK);
  }
}
