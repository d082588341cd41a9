// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The menu of a row: what else can be done with one control

#include "frame_state.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MENU_WIDTH   128.0
#define ENTRY_HEIGHT 24.0

typedef enum {
  ENTRY_DEFAULT,
  ENTRY_TYPE,
  ENTRY_COPY,
  ENTRY_UNDO,
  ENTRY_CATCH_UP,
  ENTRY_LEAVE,
  ENTRY_REJOIN,
  N_ENTRIES,
} row_entry;

typedef struct {
  const char* name;
  const char* help;
  const char* key;
} entry_text;

static const entry_text texts[N_ENTRIES] = {
  {"default", "Back to its default.", "Delete"},
  {"type",
   "A value, with comma or point; +3 and *1.2 work from the present "
   "one.",
   "Enter"},
  {"copy value", "To the clipboard, with its unit.", ""},
  {"undo this one", "Takes the last move of this control back, and no other.",
   ""},
  {"catch up", "Takes over what the group did to this control.", ""},
  {"out of the group", "It neither leads nor follows any more.", ""},
  {"into the group", "As it stands now, it follows again.", ""},
};

/// What the group can do with the row
static bool
group_has_entry(const frame* f, uint32_t entry)
{
  const uint32_t p     = (uint32_t)f->menu_param;
  float          value = 0;
  if (entry == ENTRY_CATCH_UP) {
    return follow_target(&f->group, p, &value);
  }
  return f->group.group && follow_may_take_part(f->form.plugin, p) &&
         follow_takes_part(&f->group, p) == (entry == ENTRY_LEAVE);
}

/// Whether the row has the entry, and whether it does something just now
static bool
has(const frame* f, uint32_t entry)
{
  const bool is_number =
    frame_info(f, (uint32_t)f->menu_param)->kind == PARAM_NUM;
  switch (entry) {
    case ENTRY_TYPE:
      return is_number;
    case ENTRY_COPY:
      return f->host.copy != NULL;
    case ENTRY_CATCH_UP:
    case ENTRY_LEAVE:
    case ENTRY_REJOIN:
      return group_has_entry(f, entry);
    default:
      return true;
  }
}

static bool
can(const frame* f, uint32_t entry)
{
  const uint32_t p = (uint32_t)f->menu_param;
  return entry == ENTRY_DEFAULT ? f->value[p] != frame_info(f, p)->def
         : entry == ENTRY_UNDO  ? history_last(f, p) != NULL
                                : true;
}

/// Returns the row that the menu belongs to
static const item*
its_row(const frame* f)
{
  for (uint32_t i = 0; i < f->n_items; ++i) {
    if (f->items[i].kind == ITEM_ROW &&
        (int)f->items[i].param == f->menu_param) {
      return &f->items[i];
    }
  }
  return &f->items[0];
}

void
row_menu_build(frame* f)
{
  const chart_box row = its_row(f)->box;
  uint32_t        n   = 0;
  for (uint32_t i = 0; i < N_ENTRIES; ++i) {
    n += has(f, i);
  }
  const double h = n * ENTRY_HEIGHT + 8;
  const double x = fmin(row.x + 40, f->width - MARGIN - MENU_WIDTH);
  // Below the row, or above it: the levels move, and must not lie on it
  const double below = row.y + ROW_HEIGHT - 4;
  const bool   fits  = below + h < layout_band(f, BAND_LEVELS).y;
  const double y     = fits ? below : row.y - h - 1;
  f->menu_box        = (chart_box){x, y, MENU_WIDTH, h};
  for (uint32_t i = 0, at = 0; i < N_ENTRIES; ++i) {
    if (has(f, i)) {
      item* const it =
        layout_add(f, ITEM_ENTRY,
                   (chart_box){x + 1, y + 4 + at++ * ENTRY_HEIGHT,
                               MENU_WIDTH - 2, ENTRY_HEIGHT});
      it->param = i;
      it->name  = texts[i].name;
      it->x     = x + 14;
      it->w     = MENU_WIDTH - 28;
    }
  }
}

void
row_menu_draw(const frame* f, chart* c)
{
  chart_rectangle(c, f->menu_box, CHART_GROUND);
  chart_frame(c, f->menu_box, 1, CHART_GREY);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind != ITEM_ENTRY) {
      continue;
    }
    const chart_type type = {
      .size = 11, .colour = can(f, it->param) ? CHART_INK : CHART_GREY};
    if ((int)i == f->hover) {
      chart_rectangle(c, it->box, CHART_TINT);
    }
    chart_text(c, type, it->x, it->box.y + 16, "%s", it->name);
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
}

const char*
row_menu_help(uint32_t entry, const char** key)
{
  *key = texts[entry < N_ENTRIES ? entry : 0].key;
  return texts[entry < N_ENTRIES ? entry : 0].help;
}

/// As the row shows it: "-12.0 dB", "2.20 kHz", "programme"
static void
copy_value(frame* f, uint32_t param)
{
  const param_info* const p     = frame_info(f, param);
  const float             value = f->value[param];
  const char* const       unit  = control_unit(p, value);
  char                    figure[CONTROL_TEXT];
  char                    text[2 * CONTROL_TEXT];
  control_choices         choices;
  control_labels(p, &choices);
  if (p->kind == PARAM_NUM) {
    control_figure(p, value, figure);
    (void)snprintf(text, sizeof(text), "%s%s%s", figure, *unit ? " " : "",
                   unit);
  } else {
    const uint32_t now = (uint32_t)lroundf(value);
    (void)snprintf(text, sizeof(text), "%s%s%s",
                   choices.label[now < choices.n ? now : 0],
                   *choices.unit ? " " : "", choices.unit);
  }
  if (!f->host.copy(f->host.handle, text, strlen(text))) {
    frame_say(f, "Cannot be copied: no clipboard.");
  }
}

/// Takes back the control's last move, as a gesture of its own
static void
undo_last(frame* f, uint32_t param)
{
  const move* const m = history_last(f, param);
  if (m) {
    const float from = m->from;
    gesture_begin(f);
    gesture_set(f, param, from);
    gesture_end(f);
  }
}

void
row_menu_act(frame* f, uint32_t entry)
{
  const uint32_t p = (uint32_t)f->menu_param;
  menu_close(f); // The keys are with the row again
  switch (entry) {
    case ENTRY_DEFAULT:
      gesture_once(f, p, (double)frame_info(f, p)->def);
      break;
    case ENTRY_TYPE:
      typing_begin(f, '\0');
      break;
    case ENTRY_COPY:
      copy_value(f, p);
      break;
    case ENTRY_CATCH_UP:
      follow_catch_up_one(&f->group, p);
      break;
    case ENTRY_LEAVE:
    case ENTRY_REJOIN:
      follow_leave_alone(&f->group, p, entry == ENTRY_LEAVE);
      break;
    default:
      undo_last(f, p);
      break;
  }
}
