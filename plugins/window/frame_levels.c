// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The line of levels

#include "frame_state.h"

#include <math.h>
#include <string.h>

#define LINE_X      116.0
#define LINE_W      205.0
#define LOWEST_DBFS (-60.0)

static const chart_type word        = {.size = 11, .colour = CHART_INK};
static const chart_type muted       = {.size = 11, .colour = CHART_MUTED};
static const chart_type small       = {.size = 10, .colour = CHART_MUTED};
static const chart_type right_value = {.size   = 12,
                                       .colour = CHART_INK,
                                       .align  = CHART_RIGHT};

static chart_axis
level_axis(void)
{
  return (chart_axis){LOWEST_DBFS, 0, false, LINE_X, LINE_X + LINE_W};
}

static void
draw_line(chart* c, double y)
{
  static const double      at[]     = {-60, -48, -36, -24, -18, -12, -6, 0};
  static const char* const labels[] = {"-60", "", "-36", "", "-18", "", "", ""};

  const chart_axis a    = level_axis();
  chart_type       type = small;
  type.align            = CHART_CENTRE;
  chart_line(c, a.from, y, a.to, y, 1, CHART_GREY);
  for (size_t i = 0; i < sizeof(at) / sizeof(at[0]); ++i) {
    const double x = fmin(chart_place(&a, at[i]), a.to - 0.5);
    chart_line(c, x, y, x, y + 4, 1, CHART_GREY);
    if (*labels[i]) {
      chart_text(c, type, x, y + 20, "%s", labels[i]);
    }
  }
  chart_text(c, small, a.to - 17, y + 20, "0 dBFS");
}

static void
draw_check(const frame* f, chart* c, const item* it, int index)
{
  const chart_box box  = {it->x, it->box.y + 5, 10, 10};
  const bool      on   = f->value[it->param] > 0.0F;
  const bool      lit  = index == f->hover || index == f->focus;
  chart_type      type = lit ? word : muted;
  type.colour          = on ? CHART_INK : type.colour;
  chart_frame(c, box, 1, CHART_INK);
  if (on) {
    chart_line(c, box.x + 2, box.y + 2, box.x + 7.5, box.y + 7.5, 1.5,
               CHART_BLUE);
    chart_line(c, box.x + 7.5, box.y + 2, box.x + 2, box.y + 7.5, 1.5,
               CHART_BLUE);
  }
  const double w =
    chart_text(c, type, it->x + 15, it->box.y + 14, "%s", it->name);
  if (index == f->focus) {
    chart_frame(c, (chart_box){it->x - 4, it->box.y + 1, w + 24, 18}, 1,
                CHART_INK);
  }
}

/// The word that makes the comparison blind, and what it waits for
static void
draw_blind(const frame* f, chart* c, const item* it, int index)
{
  const bool   can  = f->blind.is_on || blind_can(f);
  const double y    = it->box.y + 15;
  chart_type   type = word;
  chart_type   wait = small;
  char         text[COMPARE_TEXT];
  type.colour = can ? CHART_INK : CHART_GREY;
  wait.colour = CHART_GREY;
  chart_text(c, type, it->x, y, "%s", it->name);
  chart_line(c, it->x, y + 3, it->x + it->w, y + 3, 1, type.colour);
  compare_says(f, text);
  chart_text(c, wait, it->x + it->w + 9, y, "%s", text);
  if (index == f->focus) {
    chart_frame(c, (chart_box){it->x - 4, y - 12, it->w + 9, 19}, 1, CHART_INK);
  }
}

static void
draw_match(const frame* f, chart* c, const item* it, int index)
{
  const bool   can  = frame_can_match(f) && !f->blind.is_on;
  const double y    = it->box.y + 15;
  chart_type   type = word;
  type.colour       = can ? CHART_INK : CHART_GREY;
  chart_text(c, type, it->x, y, "%s", it->name);
  chart_line(c, it->x, y + 3, it->x + it->w, y + 3, 1, type.colour);
  chart_text(c, muted, it->x + it->w + 7, y, "by trim");
  if (index == f->focus) {
    chart_frame(c, (chart_box){it->x - 4, y - 12, it->w + 9, 19}, 1, CHART_INK);
  }
}

void
levels_draw(const frame* f, chart* c)
{
  const double y = layout_band(f, BAND_LEVELS).y;
  chart_line(c, 0, y, f->width, y, 1, CHART_RULE);
  chart_text(c, muted, MARGIN, y + 17, "in");
  chart_text(c, muted, MARGIN, y + 36, "out");
  draw_line(c, y + 22);
  chart_text(c, muted, 346, y + 17, "change");
  chart_text(c, small, 432, y + 17, "dB");
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind == ITEM_MATCH) {
      draw_match(f, c, it, (int)i);
    } else if (it->kind == ITEM_BLIND) {
      draw_blind(f, c, it, (int)i);
    } else if (it->kind == ITEM_WHOLE_ROW) {
      track_row_draw(f, c, it, (int)i);
    } else if (it->kind == ITEM_CHECK) {
      draw_check(f, c, it, (int)i);
    } else if (it->kind == ITEM_ROW && it->box.y > y) {
      row_draw(f, c, it, (int)i);
    }
  }
}

void
levels_draw_now(const frame* f, chart* c)
{
  const double     y = layout_band(f, BAND_LEVELS).y;
  const chart_axis a = level_axis();
  shell_meters     m;
  memcpy(&m, f->meter, sizeof(m));
  if (!frame_is_playing(f) || f->blind.is_on) {
    chart_text(c, right_value, 86, y + 17, "\xE2\x80\x93");
    chart_text(c, right_value, 86, y + 36, "\xE2\x80\x93");
  } else {
    const double in  = fmin(fmax((double)m.in_db, LOWEST_DBFS), 0);
    const double out = fmin(fmax((double)m.out_db, LOWEST_DBFS), 0);
    const double x0  = chart_place(&a, in);
    const double x1  = chart_place(&a, out);
    chart_text(c, right_value, 86, y + 17, "%.1f", (double)m.in_db);
    chart_text(c, right_value, 86, y + 36, "%.1f", (double)m.out_db);
    chart_rectangle(c, (chart_box){fmin(x0, x1), y + 21, fabs(x1 - x0), 3},
                    CHART_BLUE);
    chart_triangle(c, x0, y + 20, 7, false, CHART_INK);
    chart_triangle(c, x1, y + 24.5, -7, true,
                   f->value[ENABLED] > 0 ? CHART_BLUE : CHART_INK);
  }
  if (f->blind.is_on) {
    chart_text(c, right_value, 428, y + 17, "\xE2\x80\x93");
    return;
  }
  const double change  = (double)m.change_db;
  const bool   is_none = fabs(change) < 0.05;
  chart_text(c, right_value, 428, y + 17, is_none ? "%.1f" : "%+.1f",
             is_none ? 0.0 : change);
}
