// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <string.h>

void
focus_set(frame* f, int index)
{
  if (f->is_typing) {
    typing_end(f, true);
  }
  f->focus = index;
  f->bands |= BAND_ALL;
}

/// What the line of help asks: a file's change, or the group's
static void
question_answer(frame* f, uint32_t which)
{
  if (!f->loaded.is_offered) {
    group_answer(f, which);
  } else if (which == 0) {
    loaded_accept(f);
  } else {
    loaded_keep(f);
  }
}

void
item_act(frame* f, int index, bool is_shift)
{
  const item* const it = &f->items[index];
  switch (it->kind) {
    case ITEM_MEMORY:
    case ITEM_BLIND:
      memory_act(f, it, is_shift);
      break;
    case ITEM_ENTRY:
      row_menu_act(f, it->param);
      break;
    case ITEM_CHECK:
      gesture_once(f, it->param, f->value[it->param] > 0.0F ? 0 : 1);
      break;
    case ITEM_UNDO:
      history_undo(f);
      break;
    case ITEM_REDO:
      history_redo(f);
      break;
    case ITEM_COPY:
      setup_copy(f);
      break;
    case ITEM_PASTE:
      setup_ask(f);
      break;
    case ITEM_SETUP:
    case ITEM_MORE:
    case ITEM_DEFAULTS:
    case ITEM_SAVE:
      setup_menu_act(f, it);
      break;
    case ITEM_MATCH:
      frame_match(f);
      break;
    case ITEM_ACT:
      frame_act(f);
      break;
    case ITEM_MENU:
      f->is_menu_open ? menu_close(f) : menu_open(f, MENU_SETUP);
      break;
    case ITEM_GROUP:
      f->is_menu_open ? menu_close(f) : menu_open(f, MENU_GROUP);
      break;
    case ITEM_GROUP_LINE:
      group_menu_act(f, it->param);
      break;
    case ITEM_OFFER:
      track_row_menu_enter(f, it->param);
      break;
    case ITEM_WHOLE_ROW:
      track_row_compare(f);
      break;
    case ITEM_ANSWER:
      question_answer(f, it->param);
      break;
    default:
      break;
  }
}

// ---------------------------------------------------------------------------
// Keys

/// The next item that can have the keys: in the menu only its own
static void
focus_move(frame* f, int by)
{
  const int n  = (int)f->n_items;
  int       to = f->focus < 0 ? (by > 0 ? -1 : n) : f->focus;
  for (int i = 0; i < n; ++i) {
    to = (to + by + n) % n;
    if (f->items[to].is_in_menu == f->is_menu_open &&
        !blind_shuts(f, &f->items[to])) {
      focus_set(f, to);
      return;
    }
  }
}

/// How many steps a key goes; 0 if it is none of the keys that step
static double
steps_of(event_key key)
{
  switch (key) {
    case KEY_LEFT:
    case KEY_DOWN:
      return -1;
    case KEY_RIGHT:
    case KEY_UP:
      return 1;
    case KEY_PAGE_DOWN:
      return -10;
    case KEY_PAGE_UP:
      return 10;
    default:
      return 0;
  }
}

static bool
row_key(frame* f, const item* it, const window_event* e)
{
  const param_info* const p     = frame_info(f, it->param);
  const float             now   = f->value[it->param];
  double                  steps = steps_of(e->key);
  if (steps != 0) {
    // "on" stands before "off" in the header
    steps          = it->is_in_header || p->kind != PARAM_NUM
                       ? (steps > 0 ? 1 : -1) * (it->is_in_header ? -1 : 1)
                       : steps;
    const float to = control_step(p, now, steps, e->shift);
    gesture_begin(f);
    gesture_move(f, it->param, (double)to);
    if (to == now) {
      f->held_s[it->param] = f->now_s;
    }
    gesture_end(f);
    return true;
  }
  switch (e->key) {
    case KEY_HOME:
      gesture_once(f, it->param, (double)p->min);
      return true;
    case KEY_END:
      gesture_once(f, it->param, (double)p->max);
      return true;
    case KEY_DELETE:
      gesture_once(f, it->param, (double)p->def);
      return true;
    case KEY_ENTER:
      typing_begin(f, '\0');
      return true;
    case KEY_MENU:
      if (!it->is_in_header) {
        menu_open(f, (int)it->param);
      }
      return true;
    case KEY_TEXT:
      if (p->kind == PARAM_NUM && strchr("0123456789.,-+*", e->text)) {
        typing_begin(f, e->text);
        return true;
      }
      return false;
    default:
      return false;
  }
}

static bool
menu_key(frame* f, const item* it, const window_event* e)
{
  const double steps = steps_of(e->key);
  if (steps == 0) {
    return false;
  }
  const int to = menu_choice(f, it) + (steps > 0 ? 1 : -1);
  if (to >= 0 && to < (int)it->n_words) {
    menu_choose(f, it, to);
  }
  return true;
}

static bool
focused_key(frame* f, const window_event* e)
{
  const item* const it = &f->items[f->focus];
  if (blind_shuts(f, it)) {
    return false;
  }
  if (it->is_in_menu && (e->key == KEY_UP || e->key == KEY_DOWN)) {
    focus_move(f, e->key == KEY_UP ? -1 : 1);
    return true;
  }
  switch (it->kind) {
    case ITEM_ROW:
      return row_key(f, it, e);
    case ITEM_GROUND:
    case ITEM_SCALE:
    case ITEM_TRACK_ROW:
      return menu_key(f, it, e);
    default:
      if (e->key == KEY_ENTER) {
        item_act(f, f->focus, e->shift);
        return true;
      }
      return false;
  }
}

static bool
ctrl_key(frame* f, const window_event* e)
{
  switch (e->text) {
    case 'b':
      memory_swap(f, e->shift);
      return true;
    case 'c':
      setup_copy(f);
      return true;
    case 'r':
      track_row_compare(f);
      return true;
    case 'v':
      setup_ask(f);
      return true;
    case 'z':
      e->shift ? history_redo(f) : history_undo(f);
      return true;
    default:
      return false;
  }
}

/// Keys that work everywhere
static bool
common_key(frame* f, const window_event* e)
{
  if (e->key == KEY_TAB || e->key == KEY_BACK_TAB) {
    focus_move(f, e->key == KEY_TAB ? 1 : -1);
    return true;
  }
  if (e->key == KEY_ESCAPE) {
    const bool was_open = f->is_menu_open;
    menu_close(f);
    if (!was_open && f->focus >= 0) {
      focus_set(f, -1);
      return true;
    }
    return was_open;
  }
  return e->key == KEY_TEXT && e->ctrl && ctrl_key(f, e);
}

bool
keys_event(frame* f, const window_event* e)
{
  if (f->is_typing && typing_key(f, e)) {
    return true;
  }
  if (f->is_typing && (e->key == KEY_TAB || e->key == KEY_BACK_TAB)) {
    typing_end(f, true);
  }
  if (f->said[0]) {
    f->said[0] = '\0';
    f->bands |= BAND_HELP;
  }
  if (f->is_menu_open && f->menu_param == MENU_SETUP && save_name_key(f, e)) {
    return true;
  }
  return common_key(f, e) || (f->focus >= 0 && focused_key(f, e));
}
