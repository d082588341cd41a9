// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>

#define DOUBLE_CLICK_S 0.4
#define VALUE_WIDTH    84.0 // Of a row's right end: its figure and unit

static bool
is_number(const frame* f, const item* it)
{
  return it->kind == ITEM_ROW && frame_info(f, it->param)->kind == PARAM_NUM;
}

/// Whether a place is on the figure of a row
static bool
is_on_value(const item* it, double x, double y)
{
  return x > it->x + it->w - VALUE_WIDTH && y < it->box.y + 15;
}

// ---------------------------------------------------------------------------
// Pressing

/// Returns the item that shows a control, or -1
static int
item_of(const frame* f, int param)
{
  for (uint32_t i = 0; param >= 0 && i < f->n_items; ++i) {
    if (f->items[i].kind == ITEM_ROW && (int)f->items[i].param == param) {
      return (int)i;
    }
  }
  return -1;
}

static void
press_handle(frame* f, int handle, bool is_double, double x, double y)
{
  const picture_handle h       = f->handles[handle];
  const int            across  = row_param(h.across);
  const int            upright = row_param(h.upright);
  focus_set(f, item_of(f, upright >= 0 ? upright : across));
  if (!is_double) {
    drag_hold(f, -1, handle, x, y);
    return;
  }
  gesture_begin(f);
  if (across >= 0) {
    gesture_move(f, (uint32_t)across, (double)frame_info(f, across)->def);
  }
  if (upright >= 0) {
    gesture_move(f, (uint32_t)upright, (double)frame_info(f, upright)->def);
  }
  gesture_end(f);
}

static void
choose_word(frame* f, const item* it, int word)
{
  if (word < 0) {
    return;
  }
  if (it->is_in_menu) {
    menu_choose(f, it, word);
  } else {
    gesture_once(f, it->param, word);
  }
}

static void
press_item(frame* f, const window_event* e, int index, bool is_double)
{
  const item   it = f->items[index];
  const double x  = e->x / f->scale;
  const double y  = e->y / f->scale;
  focus_set(f, index);
  if (!is_number(f, &it)) {
    if (it.n_words) {
      choose_word(f, &it, layout_word_at(&it, x, y));
    } else {
      item_act(f, index, e->shift);
    }
    return;
  }
  const bool is_value = is_on_value(&it, x, y);
  if (is_double && !is_value) {
    gesture_once(f, it.param, (double)frame_info(f, it.param)->def);
  } else {
    drag_hold(f, index, -1, x, y);
  }
}

static void
press(frame* f, const window_event* e, double x, double y)
{
  const int  item_at = layout_item_at(f, x, y);
  const int  handle  = f->is_menu_open ? -1 : layout_handle_at(f, x, y);
  const bool is_covered =
    f->said[0] && item_at >= 0 && f->items[item_at].kind == ITEM_ANSWER;
  f->said[0] = '\0';
  f->bands |= BAND_HELP;
  if (is_covered) {
    return; // What was said lay over the answer
  }
  if (f->is_menu_open && (item_at < 0 || !f->items[item_at].is_in_menu)) {
    menu_close(f);
    return;
  }
  if (item_at >= 0 && blind_shuts(f, &f->items[item_at])) {
    return;
  }
  const bool is_double = e->time_s - f->press_s < DOUBLE_CLICK_S &&
                         item_at == f->press_item && handle == f->press_handle;
  f->press_s      = is_double ? -1 : e->time_s;
  f->press_item   = item_at;
  f->press_handle = handle;
  if (handle >= 0) {
    press_handle(f, handle, is_double, x, y);
  } else if (item_at >= 0) {
    press_item(f, e, item_at, is_double);
  } else {
    focus_set(f, -1);
  }
}

/// The other button, on a row
static void
press_menu(frame* f, double x, double y)
{
  const bool was_open = f->is_menu_open;
  if (f->drag.is_down) {
    return;
  }
  menu_close(f);
  const int index = layout_item_at(f, x, y);
  if (!was_open && index >= 0 && f->items[index].kind == ITEM_ROW &&
      !f->items[index].is_in_header && !f->blind.is_on) {
    focus_set(f, index);
    menu_open(f, (int)f->items[index].param);
  }
}

/// A press and release on the figure, without a movement: type
static void
release(frame* f, double x, double y)
{
  const drag_state d = f->drag;
  drag_end(f);
  if (d.is_down && !d.is_moving && d.item >= 0 &&
      is_on_value(&f->items[d.item], x, y)) {
    focus_set(f, d.item);
    typing_begin(f, '\0');
  }
}

// ---------------------------------------------------------------------------
// Wheel and hovering

static void
wheel_step(frame* f, int param, const window_event* e)
{
  const param_info* const p  = frame_info(f, param);
  const float             to = control_step(
                p, f->value[param], p->kind == PARAM_SEL ? -e->wheel : e->wheel, e->shift);
  if (to == f->value[param]) {
    f->held_s[param] = f->now_s;
    f->bands |= BAND_ROWS;
  }
  gesture_wheel(f, (uint32_t)param, (double)to);
}

static bool
wheel(frame* f, const window_event* e, double x, double y)
{
  const int handle = layout_handle_at(f, x, y);
  const int index  = layout_item_at(f, x, y);
  f->said[0]       = '\0';
  f->bands |= BAND_HELP;
  if (f->drag.is_down || f->is_menu_open || f->blind.is_on) {
    return true;
  }
  if (handle >= 0) {
    const picture_handle h     = f->handles[handle];
    const int            plain = h.upright >= 0 ? h.upright : h.across;
    const int row = e->ctrl ? (h.width >= 0 ? h.width : h.across) : plain;
    if (row >= 0) {
      wheel_step(f, row_param(row), e);
    }
    return true;
  }
  if (index >= 0 && f->items[index].kind == ITEM_ROW &&
      !f->items[index].is_in_header) {
    wheel_step(f, (int)f->items[index].param, e);
    return true;
  }
  return false;
}

static void
hover(frame* f, int index, int handle)
{
  if (index != f->hover || handle != f->hover_handle) {
    f->hover        = index;
    f->hover_handle = handle;
    f->bands |= BAND_HEADER | BAND_ROWS | BAND_LEVELS | BAND_HELP;
    f->bands |= f->n_handles || f->is_menu_open ? BAND_FIGURES : 0;
  }
}

bool
frame_event(frame* f, const window_event* e)
{
  const double x = e->x / f->scale;
  const double y = e->y / f->scale;
  ++f->news;
  switch (e->kind) {
    case EVENT_PRESS:
      press(f, e, x, y);
      return true;
    case EVENT_MENU:
      press_menu(f, x, y);
      return true;
    case EVENT_RELEASE:
      release(f, x, y);
      return true;
    case EVENT_WHEEL:
      return wheel(f, e, x, y);
    case EVENT_MOVE:
      if (f->drag.is_down) {
        drag_move(f, e, x, y);
      } else {
        const int handle = f->is_menu_open ? -1 : layout_handle_at(f, x, y);
        hover(f, handle >= 0 ? -1 : layout_item_at(f, x, y), handle);
      }
      return true;
    case EVENT_LEAVE:
      if (!f->drag.is_down) {
        hover(f, -1, -1);
      }
      return true;
    case EVENT_UNFOCUSED:
      if (f->is_typing) {
        typing_end(f, true);
      }
      f->focus = -1;
      f->bands |= BAND_ALL;
      return true;
    case EVENT_KEY:
      return keys_event(f, e);
    default:
      return false;
  }
}
