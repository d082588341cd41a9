// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

static const item*
typed_item(const frame* f)
{
  if (f->focus < 0) {
    return NULL;
  }
  const item* const it = &f->items[f->focus];
  return it->kind == ITEM_ROW && frame_info(f, it->param)->kind == PARAM_NUM
           ? it
           : NULL;
}

void
typing_begin(frame* f, char first)
{
  const item* const it = typed_item(f);
  if (!it) {
    return;
  }
  f->is_typing = true;
  f->is_whole  = first == '\0';
  f->typed[0]  = first;
  f->typed[1]  = '\0';
  if (!first) { // Begins with the present value
    const float value = f->value[it->param];
    const bool  is_k =
      frame_info(f, it->param)->unit == UNIT_HZ && value >= 1000;
    char figure[CONTROL_TEXT];
    control_figure(frame_info(f, it->param), value, figure);
    (void)snprintf(f->typed, sizeof(f->typed), "%.20s%s", figure,
                   is_k ? "k" : "");
  }
  f->bands |= BAND_ROWS | BAND_LEVELS | BAND_HELP;
}

void
typing_end(frame* f, bool takes)
{
  const item* const it    = typed_item(f);
  float             value = 0;
  f->is_typing            = false;
  f->bands |= BAND_ROWS | BAND_LEVELS | BAND_HELP;
  if (!it || !takes ||
      !control_read(frame_info(f, it->param), f->typed, f->value[it->param],
                    &value)) {
    return;
  }
  // As typed, not rounded to what is shown
  gesture_begin(f);
  gesture_set(f, it->param, value);
  gesture_end(f);
}

bool
typing_key(frame* f, const window_event* e)
{
  const bool is_text = e->key == KEY_TEXT && !e->ctrl;
  if (f->is_whole && is_text) {
    f->typed[0] = '\0';
  }
  f->is_whole    = f->is_whole && !is_text && e->key != KEY_BACKSPACE;
  const size_t n = strlen(f->typed);
  f->bands |= BAND_ROWS | BAND_LEVELS;
  switch (e->key) {
    case KEY_ENTER:
      typing_end(f, true);
      return true;
    case KEY_ESCAPE:
      typing_end(f, false);
      return true;
    case KEY_BACKSPACE:
      f->typed[n ? n - 1 : 0] = '\0';
      return true;
    case KEY_DELETE:
      f->typed[0] = '\0';
      return true;
    case KEY_TEXT:
      if (e->ctrl) {
        return false;
      }
      if (n < 12 &&
          (isalnum((unsigned char)e->text) || strchr(" .,+-*%/", e->text))) {
        f->typed[n]     = e->text;
        f->typed[n + 1] = '\0';
      }
      return true;
    case KEY_TAB:
    case KEY_BACK_TAB:
      return false;
    default:
      return true;
  }
}
