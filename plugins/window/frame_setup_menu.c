// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE_HEIGHT 23.0
#define MOST_LINES  9U ///< Setups at once; more come with "more"

enum { SUMMARY = 64 };

static const chart_type plain = {.size = 11, .colour = CHART_INK};

void
setup_menu_read(frame* f)
{
  char own[USER_PATH];
  setup_menu_forget(f);
  f->menu_table = setup_table_new();
  if (f->menu_table) {
    (void)setup_list_read(
      &f->menu_list, f->host.setups,
      user_path(own, USER_SETTINGS, "/dustcap/setups") ? own : NULL,
      setup_table_parts(f->menu_table), setup_part_of(f, f->menu_table));
  }
}

void
setup_menu_forget(frame* f)
{
  setup_list_clear(&f->menu_list);
  setup_table_free(f->menu_table);
  f->menu_table = NULL;
  f->menu_first = 0;
}

// ---------------------------------------------------------------------------
// Places

static item*
add_line(frame*      f,
         item_kind   kind,
         uint32_t    param,
         const char* name,
         chart_box   box,
         double*     y)
{
  item* const it =
    layout_add(f, kind, (chart_box){box.x + 1, *y, box.w - 2, LINE_HEIGHT});
  it->param = param;
  it->name  = name;
  it->x     = box.x + 26;
  it->w     = box.w - 40;
  *y += LINE_HEIGHT;
  return it;
}

double
setup_menu_build(frame* f, chart_box box)
{
  const uint32_t n    = f->menu_list.n;
  const bool     more = n > MOST_LINES;
  const uint32_t last = f->menu_first + MOST_LINES - more;
  double         y    = box.y + 26;
  for (uint32_t i = f->menu_first; i < n && i < last; ++i) {
    (void)add_line(f, ITEM_SETUP, i, f->menu_list.entries[i].name, box, &y);
  }
  if (more) {
    (void)add_line(f, ITEM_MORE, 0, "more \xE2\x80\xA6", box, &y);
  }
  y += n ? 13 : 0;
  (void)add_line(f, ITEM_DEFAULTS, 0, "defaults", box, &y);
  (void)snprintf(f->save_name, sizeof(f->save_name), "save as %s",
                 f->save_typed[0] ? f->save_typed
                 : f->loaded.path ? f->loaded.name
                                  : f->form.plugin->stem);
  (void)add_line(f, ITEM_SAVE, 0, f->save_name, box, &y);
  return y + 6;
}

// ---------------------------------------------------------------------------
// Pictures

/// Writes a value as "drive 34" or "three"; returns the length
static int
write_value(const frame* f,
            uint32_t     param,
            float        value,
            char*        text,
            size_t       room)
{
  const param_info* const p = frame_info(f, param);
  char                    figure[CONTROL_TEXT];
  control_choices         choices;
  if (p->kind == PARAM_SEL) {
    control_labels(p, &choices);
    const uint32_t now = value < (float)choices.n ? (uint32_t)value : 0;
    return snprintf(text, room, "%s", choices.label[now]);
  }
  control_figure(p, value, figure);
  char* const zero = strstr(figure, ".0");
  if (zero && !zero[2]) {
    *zero = '\0';
  }
  const int n =
    snprintf(text, room, "%s %s", p->name,
             p->kind == PARAM_TOG ? (value > 0.0F ? "on" : "off") : figure);
  *text = (char)tolower((unsigned char)*text);
  return n;
}

/// Writes the first values that are not as now, `most` of them
static void
summarise(const frame* f,
          const float* values,
          uint32_t     most,
          char         text[SUMMARY])
{
  uint32_t n    = 0;
  size_t   used = 0;
  (void)snprintf(text, SUMMARY, "as set");
  for (uint32_t i = 0; i < frame_shown_count(f) && n < most; ++i) {
    if (memory_holds(f, i) && values[i] != memory_value(f, i)) {
      used += (size_t)snprintf(text + used, SUMMARY - used, n ? ", " : "");
      used += (size_t)write_value(f, i, values[i], text + used, SUMMARY - used);
      ++n;
    }
  }
}

static bool
is_loaded(const frame* f, const setup_entry* e)
{
  return f->loaded.path && !strcmp(f->loaded.path, e->path);
}

static void
draw_setup(const frame* f, chart* c, const item* it)
{
  const setup_entry* const e     = &f->menu_list.entries[it->param];
  const chart_type         muted = {
            .size = 10, .colour = CHART_MUTED, .align = CHART_RIGHT};
  const chart_type faulty = {.size = 11, .colour = CHART_GREY};
  const double     y      = it->box.y + 16;
  char             text[SUMMARY];
  const double     w =
    chart_text(c, e->fault ? faulty : plain, it->x, y, "%s", e->name);
  if (is_loaded(f, e)) {
    chart_rectangle(c, (chart_box){it->x, y + 3, w, 2}, CHART_BLUE);
  }
  const setup_stage* const s =
    f->menu_table
      ? setup_chain_stage(&e->chain, setup_part_of(f, f->menu_table))
      : NULL;
  (void)snprintf(text, sizeof(text), "%s", e->fault ? "cannot be read" : "");
  const bool is_told = s && !f->blind.is_on; // It would tell which memory plays
  for (uint32_t most = 2; most > 0; --most) { // As many as there is room for
    if (is_told) {
      summarise(f, s->values, most, text);
    }
    if (w + 12 + chart_text_width(c, muted, "%s", text) < it->w) {
      chart_text(c, muted, it->x + it->w, y, "%s", text);
      return;
    }
  }
}

void
setup_menu_draw(const frame* f, chart* c)
{
  chart_type heading = plain;
  heading.is_bold    = true;
  chart_text(c, heading, f->menu_box.x + 13, f->menu_box.y + 18, "Setup");
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it   = &f->items[i];
    const bool        mine = it->kind == ITEM_SETUP || it->kind == ITEM_MORE ||
                      it->kind == ITEM_DEFAULTS || it->kind == ITEM_SAVE;
    if (!mine) {
      continue;
    }
    if ((int)i == f->hover) {
      chart_rectangle(c, it->box, CHART_TINT);
    }
    if (it->kind == ITEM_SETUP) {
      draw_setup(f, c, it);
    } else {
      chart_text(c, plain, it->x, it->box.y + 16, "%s", it->name);
    }
    if (it->kind == ITEM_DEFAULTS && f->menu_list.n) {
      chart_line(c, f->menu_box.x + 12, it->box.y - 6,
                 f->menu_box.x + f->menu_box.w - 12, it->box.y - 6, 1,
                 CHART_RULE);
    }
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
}

const char*
setup_menu_help(const frame* f, const item* it, const char** name)
{
  *name = it->name;
  switch (it->kind) {
    case ITEM_SETUP: {
      const setup_entry* const e = &f->menu_list.entries[it->param];
      *name                      = e->fault ? "" : e->name;
      return e->fault    ? e->fault
             : e->is_own ? "Your own: sets all controls of this stage."
                         : "Comes with the plugins: sets all controls of this "
                           "stage.";
    }
    case ITEM_DEFAULTS:
      *name = "Defaults";
      return "Sets all controls of this stage to their defaults.";
    case ITEM_SAVE:
      *name = "Save";
      return f->save_is_sure
               ? "It is there already: once more writes this stage into it."
               : "Writes this stage into your own setup of that name. Type "
                 "another name.";
    default:
      *name = "More";
      return "Shows more setups.";
  }
}

// ---------------------------------------------------------------------------
// Doing

static void
take_defaults(frame* f)
{
  float values[FRAME_PARAMS];
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    values[i] = frame_info(f, i)->def;
  }
  const uint32_t n = setup_take(f, values);
  loaded_forget(f);
  layout_build(f);
  frame_say(f, "Defaults: %u control%s moved.", n, n == 1 ? "" : "s");
}

void
setup_menu_act(frame* f, const item* it)
{
  const item     line = *it; // The menu goes
  setup_entry    e    = {.path = NULL};
  const uint32_t part = setup_part_of(f, f->menu_table);
  if (line.kind == ITEM_MORE) {
    f->menu_first += MOST_LINES - 1;
    f->menu_first = f->menu_first < f->menu_list.n ? f->menu_first : 0;
    layout_build(f);
    f->bands |= BAND_ALL;
    return;
  }
  if (line.kind == ITEM_SETUP) {
    e                                = f->menu_list.entries[line.param];
    f->menu_list.entries[line.param] = (setup_entry){.path = NULL};
  }
  if (line.kind == ITEM_SAVE && save_name_asks(f)) {
    return;
  }
  menu_close(f);
  if (e.fault) {
    frame_say(f, "%s", e.fault);
  } else if (line.kind == ITEM_SETUP) {
    loaded_take(f, &e, part);
  } else if (line.kind == ITEM_DEFAULTS) {
    take_defaults(f);
  } else {
    loaded_save(f);
  }
  setup_chain_clear(&e.chain);
  free(e.path);
  free(e.fault);
}
