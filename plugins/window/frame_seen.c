// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What tests see of a sheet

#include "frame_state.h"

#include <string.h>

static const item*
item_of(const frame* f, uint32_t param)
{
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item_kind kind = f->items[i].kind;
    if ((kind == ITEM_ROW || kind == ITEM_CHECK) &&
        f->items[i].param == param) {
      return &f->items[i];
    }
  }
  return NULL;
}

bool
frame_scale_of(const frame* f,
               uint32_t     param,
               double*      x0,
               double*      x1,
               double*      y)
{
  const item* const it = item_of(f, param);
  if (it) {
    *x0 = it->x * f->scale;
    *x1 = (it->x + it->w) * f->scale;
    *y  = (it->box.y + 23) * f->scale;
  }
  return it != NULL;
}

bool
frame_figure_of(const frame* f, uint32_t param, double* x, double* y)
{
  const item* const it = item_of(f, param);
  if (it) {
    *x = (it->x + it->w - 10) * f->scale;
    *y = (it->box.y + 8) * f->scale;
  }
  return it != NULL;
}

bool
frame_choice_of(const frame* f,
                uint32_t     param,
                uint32_t     choice,
                double*      x,
                double*      y)
{
  const item* const it = item_of(f, param);
  if (!it || choice >= it->n_words) {
    return false;
  }
  *x = (it->word[choice].x + 0.5 * it->word[choice].w) * f->scale;
  *y = (it->word[choice].y + 0.5 * it->word[choice].h) * f->scale;
  return true;
}

bool
frame_word_of(const frame* f, const char* word, double* x, double* y)
{
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->name && !strcmp(it->name, word)) {
      *x = (it->x + 4) * f->scale;
      *y = (it->box.y + 0.5 * it->box.h) * f->scale;
      return true;
    }
  }
  return false;
}

bool
frame_menu_choice_of(const frame* f,
                     const char*  line,
                     uint32_t     choice,
                     double*      x,
                     double*      y)
{
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->is_in_menu && it->name && !strcmp(it->name, line) &&
        choice < it->n_words) {
      *x = (it->word[choice].x + 0.5 * it->word[choice].w) * f->scale;
      *y = (it->word[choice].y + 0.5 * it->word[choice].h) * f->scale;
      return true;
    }
  }
  return false;
}

bool
frame_handle_of(const frame* f, uint32_t i, double* x, double* y)
{
  if (i >= f->n_handles) {
    return false;
  }
  *x = f->handles[i].x * f->scale;
  *y = f->handles[i].y * f->scale;
  return true;
}

float
frame_param(const frame* f, uint32_t param)
{
  return f->value[param];
}

int
frame_focus_param(const frame* f)
{
  return f->focus >= 0 && (f->items[f->focus].kind == ITEM_ROW ||
                           f->items[f->focus].kind == ITEM_CHECK)
           ? (int)f->items[f->focus].param
           : -1;
}

const char*
frame_question(const frame* f)
{
  static char text[HELP_QUESTION];
  help_question(f, text);
  return text;
}
