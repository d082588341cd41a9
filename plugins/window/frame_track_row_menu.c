// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The row's lines in the menu of groups: its number, and rows of windows that
/// the host runs in other processes

#include "frame_track_row.h"

#define LINE_HEIGHT 26.0
#define RULE_HEIGHT 9.0

static const char* const numbers[TRACK_ROWS + 1] = {"off", "1", "2", "3", "4",
                                                    "5",   "6", "7", "8"};

static const char* const enter_names[TRACK_ROWS] = {
  "enter row 1", "enter row 2", "enter row 3", "enter row 4",
  "enter row 5", "enter row 6", "enter row 7", "enter row 8"};

static item*
add_line(frame* f, item_kind kind, const char* name, double y)
{
  item* const it = layout_add(
    f, kind,
    (chart_box){f->menu_box.x + 6, y, f->menu_box.w - 12, LINE_HEIGHT});
  it->name = name;
  it->x    = f->menu_box.x + 14;
  it->w    = f->menu_box.w - 28;
  return it;
}

void
track_row_menu_build(frame* f, const chart* c)
{
  const track_row* const r    = &f->of_track.row;
  const chart_type       type = {.size = 11};
  double                 y    = f->menu_box.y + f->menu_box.h - 5 + RULE_HEIGHT;
  item* const it = add_line(f, ITEM_TRACK_ROW, "number of the row", y);
  double      x  = it->x + 34;
  for (it->n_words = 0; it->n_words <= TRACK_ROWS; ++it->n_words) {
    const double w = chart_text_width(c, type, "%s", numbers[it->n_words]);
    it->word[it->n_words] = (chart_box){x, y + 1, w, 24};
    x += w + 10.5;
  }
  for (uint32_t i = 0; i < r->n_offers; ++i) {
    y += LINE_HEIGHT;
    add_line(f, ITEM_OFFER, enter_names[track_row_number(r->offers[i]) - 1], y)
      ->param = i;
  }
  f->menu_box.h = y + LINE_HEIGHT + 5 - f->menu_box.y;
}

static void
draw_numbers(const frame* f, chart* c, const item* it)
{
  const chart_type ink   = {.size = 11, .colour = CHART_INK};
  const chart_type muted = {.size = 11, .colour = CHART_MUTED};
  const double     y     = it->box.y + 17;
  chart_line(c, f->menu_box.x + 12, it->box.y - 5,
             f->menu_box.x + f->menu_box.w - 12, it->box.y - 5, 1, CHART_RULE);
  chart_text(c, muted, it->x, y, "row");
  for (uint32_t i = 0; i < it->n_words; ++i) {
    const bool      is_now = i == f->of_track.row.number;
    const chart_box w      = it->word[i];
    chart_text(c, is_now ? ink : muted, w.x, y, "%s", numbers[i]);
    if (is_now) {
      chart_rectangle(c, (chart_box){w.x, it->box.y + 20, w.w, 2}, CHART_BLUE);
    }
  }
}

void
track_row_menu_draw(const frame* f, chart* c)
{
  const chart_type plain = {.size = 11, .colour = CHART_INK};
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind != ITEM_TRACK_ROW && it->kind != ITEM_OFFER) {
      continue;
    }
    if ((int)i == f->hover) {
      chart_rectangle(c, it->box, CHART_TINT);
    }
    if (it->kind == ITEM_TRACK_ROW) {
      draw_numbers(f, c, it);
    } else {
      chart_text(c, plain, it->x, it->box.y + 17, "%s", it->name);
    }
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
}

void
track_row_menu_choose(frame* f, uint32_t number)
{
  const bool had_keys = f->focus >= 0;
  track_row_choose(&f->of_track.row, number);
  track_row_show(f);
  for (uint32_t i = 0; i < f->n_items; ++i) { // The word has come or gone
    if (f->items[i].kind == ITEM_TRACK_ROW && had_keys) {
      f->focus = (int)i;
    }
  }
}

void
track_row_menu_enter(frame* f, uint32_t offer)
{
  track_row* const r = &f->of_track.row;
  if (offer < r->n_offers) {
    track_row_enter(r, r->offers[offer]);
  }
  menu_close(f);
  track_row_show(f);
}
