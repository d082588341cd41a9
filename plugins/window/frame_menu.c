// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_menu.h"

#include <math.h>

static const chart_type word  = {.size = 11, .colour = CHART_INK};
static const chart_type muted = {.size = 11, .colour = CHART_MUTED};

static const char* const grounds[] = {"night", "paper"};

enum { SCALES = 5 };

static const double      scales[SCALES]      = {1, 1.25, 1.5, 2, 3};
static const char* const scale_words[SCALES] = {"1", "1.25", "1.5", "2", "3"};

// ---------------------------------------------------------------------------
// Opening and closing

void
menu_close(frame* f)
{
  if (!f->is_menu_open) {
    return;
  }
  const int had_keys = f->focus;
  f->is_menu_open    = false;
  setup_menu_forget(f);
  f->hover = -1;
  f->focus = -1;
  layout_build(f);
  for (uint32_t i = 0; i < f->n_items && had_keys >= 0; ++i) {
    const item* const it = &f->items[i];
    if (f->menu_param < 0
          ? it->kind == (f->menu_param == MENU_GROUP ? ITEM_GROUP : ITEM_MENU)
          : it->kind == ITEM_ROW && (int)it->param == f->menu_param) {
      f->focus = (int)i;
    }
  }
  f->bands |= BAND_ALL;
}

void
menu_open(frame* f, int param)
{
  const bool had_keys = f->focus >= 0;
  f->is_menu_open     = true;
  f->menu_param       = param;
  if (param == MENU_SETUP) {
    f->save_typed[0] = '\0';
    f->save_is_sure  = false;
    setup_menu_read(f);
  } else if (param == MENU_GROUP) {
    group_menu_read(f);
  }
  layout_build(f);
  for (uint32_t i = f->n_items; had_keys && i > 0; --i) {
    if (f->items[i - 1].is_in_menu) {
      f->focus = (int)i - 1; // The menu's first
    }
  }
  f->bands |= BAND_ALL;
}

// ---------------------------------------------------------------------------
// Ground, scale and row: choices of words

int
menu_choice(const frame* f, const item* it)
{
  if (it->kind == ITEM_GROUND) {
    return f->palette == &chart_paper;
  }
  if (it->kind == ITEM_TRACK_ROW) {
    return (int)f->of_track.row.number;
  }
  int nearest = 0; // Any may be set from outside
  for (int i = 1; i < SCALES; ++i) {
    const double now  = f->scale - scales[i];
    const double last = f->scale - scales[nearest];
    nearest           = now * now < last * last ? i : nearest;
  }
  return nearest;
}

void
menu_choose(frame* f, const item* it, int choice)
{
  if (it->kind == ITEM_TRACK_ROW) {
    track_row_menu_choose(f, (uint32_t)choice);
  } else if (it->kind == ITEM_GROUND) {
    prefs_choose_paper(choice == 1);
  } else {
    prefs_choose_scale(scales[choice]);
  }
}

void
menu_build(frame* f, const chart* c)
{
  f->menu_box    = (chart_box){f->width - MARGIN - 254, 35, 254, 0};
  const double x = f->menu_box.x + 14;
  double       y = setup_menu_build(f, f->menu_box) + 6;
  f->menu_box.h  = y + 66 - f->menu_box.y;
  item* it =
    layout_add(f, ITEM_GROUND, (chart_box){x - 8, y, f->menu_box.w - 12, 26});
  it->name = "Ground";
  it->x    = x;
  layout_place_words(it, c, grounds, 2, x + 64, y + 2);
  y += 30;
  it = layout_add(f, ITEM_SCALE, (chart_box){x - 8, y, f->menu_box.w - 12, 26});
  it->name = "Scale";
  it->x    = x;
  layout_place_words(it, c, scale_words, SCALES, x + 64, y + 2);
  for (uint32_t i = 0; i < it->n_words; ++i) { // Closer than others
    it->word[i].x -= i * 6.0;
  }
}

/// A scale from outside may be none of these words
static bool
is_now(const frame* f, const item* it, int k)
{
  return k == menu_choice(f, it) &&
         (it->kind == ITEM_GROUND || fabs(f->scale - scales[k]) < 1e-6);
}

static void
draw_choices(const frame* f, chart* c, const item* it)
{
  const double y = it->box.y;
  chart_text(c, muted, it->x, y + 17, "%s", it->name);
  for (uint32_t k = 0; k < it->n_words; ++k) {
    const chart_box w      = it->word[k];
    const bool      is_lit = is_now(f, it, (int)k);
    chart_text(c, is_lit ? word : muted, w.x, y + 17, "%s",
               it->kind == ITEM_GROUND ? grounds[k == 1] : scale_words[k]);
    if (is_lit) {
      chart_rectangle(c, (chart_box){w.x, y + 20, w.w, 2}, CHART_BLUE);
    }
  }
}

void
menu_draw(const frame* f, chart* c)
{
  chart_rectangle(c, f->menu_box, CHART_GROUND);
  chart_frame(c, f->menu_box, 1, CHART_GREY);
  setup_menu_draw(f, c);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind != ITEM_GROUND && it->kind != ITEM_SCALE) {
      continue;
    }
    if ((int)i == f->hover) {
      chart_rectangle(c, it->box, CHART_TINT);
    }
    draw_choices(f, c, it);
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
}
