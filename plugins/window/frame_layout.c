// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>
#include <string.h>

#define CHOICE_GAP   18.0
#define FIGURE_INSET 30.0
#define WORD_HEIGHT  24.0

static const chart_type word_type  = {.size = 11};
static const chart_type title_type = {.size = 15, .is_bold = true};

item*
layout_add(frame* f, item_kind kind, chart_box box)
{
  static item none;
  if (f->n_items == FRAME_ITEMS) {
    return &none;
  }
  item* const it = &f->items[f->n_items++];
  memset(it, 0, sizeof(*it));
  it->kind = kind;
  it->box  = box;
  return it;
}

void
layout_place_words(item*              it,
                   const chart*       c,
                   const char* const* words,
                   uint32_t           n,
                   double             x,
                   double             y)
{
  for (it->n_words = 0; it->n_words < n; ++it->n_words) {
    const double w = chart_text_width(c, word_type, "%s", words[it->n_words]);
    it->word[it->n_words] = (chart_box){x, y, w, WORD_HEIGHT};
    x += w + CHOICE_GAP;
  }
}

/// Places the choices of a control in the row's second line
static void
place_choices(const frame* f, item* it, const chart* c)
{
  control_choices choices;
  control_labels(frame_info(f, it->param), &choices);
  if (sheet_is_polar(f->form.plugin, it->param)) {
    const double step = it->w / choices.n;
    for (it->n_words = 0; it->n_words < choices.n; ++it->n_words) {
      it->word[it->n_words] =
        (chart_box){it->x + it->n_words * step - 6, it->box.y + 11, 26, 20};
    }
    return;
  }
  const char* words[CONTROL_MAX_CHOICES];
  for (uint32_t i = 0; i < choices.n; ++i) {
    words[i] = choices.label[i];
  }
  layout_place_words(it, c, words, choices.n, it->x, it->box.y + 11);
  for (uint32_t i = 0; i < it->n_words; ++i) {
    it->word[i].h = 20;
  }
}

static void
add_row(frame*       f,
        const chart* c,
        uint32_t     param,
        const char*  name,
        double       x,
        double       y,
        double       w)
{
  item* const it =
    layout_add(f, ITEM_ROW, (chart_box){x - 5, y, w + 10, ROW_HEIGHT});
  it->param = param;
  it->name  = name;
  it->x     = x;
  it->w     = w;
  if (frame_info(f, param)->kind != PARAM_NUM) {
    place_choices(f, it, c);
  }
}

static item*
add_word(frame* f, const chart* c, item_kind kind, const char* word, double* x)
{
  const double w  = chart_text_width(c, word_type, "%s", word);
  const double to = *x;
  *x -= w + CHOICE_GAP;
  item* const it = layout_add(
    f, kind, (chart_box){to - w - 6, 0.5 * (HEADER_BOTTOM - 24), w + 12, 24});
  it->name = word;
  it->x    = to - w;
  it->w    = w;
  return it;
}

/// A or B; 1 or 2 while nobody is to know
static void
add_memory(frame* f, const chart* c, uint32_t which, double* x)
{
  static const char* const names[2][2] = {{"A", "B"}, {"1", "2"}};
  item* const it = add_word(f, c, ITEM_MEMORY, names[f->blind.is_on][which], x);
  it->param      = which;
  it->box.x -= 2; // A letter is narrow
  it->box.w += 4;
}

/// The items from `first` on, the other way round
static void
turn_round(frame* f, uint32_t first)
{
  for (uint32_t i = first, k = f->n_items; i + 1 < k; ++i) {
    const item swap = f->items[--k];
    f->items[k]     = f->items[i];
    f->items[i]     = swap;
  }
}

static void
build_header(frame* f, const chart* c)
{
  const double x =
    MARGIN + 17 + chart_text_width(c, title_type, "%s", f->form.plugin->name);
  const double on  = chart_text_width(c, word_type, "on");
  const double off = chart_text_width(c, word_type, "off");
  const double w   = on + CHOICE_GAP - 8 + off;
  item* const  it  = layout_add(f, ITEM_ROW, (chart_box){x - 6, 7, w + 12, 24});
  it->param        = ENABLED;
  it->name         = "Enabled";
  it->is_in_header = true;
  it->x            = x;
  it->w            = w;
  it->n_words      = 2; // "on" stands first
  it->word[1]      = (chart_box){x, 7, on, 24};
  it->word[0]      = (chart_box){x + on + CHOICE_GAP - 8, 7, off, 24};
  // From the right; the keys go from the left
  const uint32_t first = f->n_items;
  double         right = f->width - MARGIN - 11;
  item* const    group = add_word(f, c, ITEM_GROUP, f->group_name, &right);
  group->box.w += 11;
  right -= 11;
  item* const menu = add_word(f, c, ITEM_MENU, f->menu_name, &right);
  menu->box.w += 11;
  right -= 4;
  add_word(f, c, ITEM_PASTE, "paste", &right);
  add_word(f, c, ITEM_COPY, "copy", &right);
  right -= 4;
  add_word(f, c, ITEM_REDO, "redo", &right);
  add_word(f, c, ITEM_UNDO, "undo", &right);
  right -= 4;
  add_memory(f, c, 1, &right);
  add_memory(f, c, 0, &right);
  turn_round(f, first);
}

static void
build_columns(frame* f)
{
  const uint32_t n     = f->rows.n;
  const double   inner = f->width - 2 * MARGIN;
  f->column_w          = floor((inner - (n - 1) * GUTTER) / n);
  for (uint32_t i = 0; i < n; ++i) {
    f->column_x[i] =
      MARGIN + round(i * (inner - f->column_w) / (n > 1 ? n - 1 : 1));
  }
  f->rows_top = f->height - LEVELS_HEIGHT - 6 - ROW_HEIGHT * f->rows.most_rows;
}

static void
build_rows(frame* f, const chart* c)
{
  for (uint32_t i = 0; i < f->rows.n; ++i) {
    for (uint32_t k = 0; k < f->rows.columns[i].n; ++k) {
      const sheet_row* const r = &f->rows.columns[i].rows[k];
      add_row(f, c, r->param, r->name, f->column_x[i],
              f->rows_top + k * ROW_HEIGHT, f->column_w);
    }
  }
}

static void
build_figures(frame* f)
{
  for (uint32_t i = 0; i < f->pic->n_figures; ++i) {
    const picture_figure* const g     = &f->pic->figures[i];
    const uint32_t              last  = g->column + g->n_columns - 1;
    const double                inset = g->is_flush ? 0 : FIGURE_INSET;
    const double                x     = f->column_x[g->column] + inset;
    const double                right = f->column_x[last] + f->column_w;
    const double foot = f->rows_top - HEADING_HEIGHT - g->bottom_gap;
    f->figure[i]      = (chart_box){x, PLOT_TOP, right - x, foot - PLOT_TOP};
  }
}

static void
build_act(frame* f, const chart* c)
{
  if (!f->pic->act) {
    return;
  }
  const chart_box figure = f->figure[0];
  const double    w = chart_text_width(c, word_type, "%s", f->pic->act->word);
  const double    x = figure.x + figure.w - w;
  item* const     it =
    layout_add(f, ITEM_ACT, (chart_box){x - 6, CAPTION_Y - 16, w + 12, 24});
  it->name = f->pic->act->word;
  it->x    = x;
  it->w    = w;
}

item*
layout_add_level(frame*       f,
                 const chart* c,
                 item_kind    kind,
                 const char*  word,
                 double       x)
{
  const double w  = chart_text_width(c, word_type, "%s", word);
  item* const  it = layout_add(
     f, kind, (chart_box){x - 6, f->height - LEVELS_HEIGHT + 25, w + 12, 24});
  it->name = word;
  it->x    = x;
  it->w    = w;
  return it;
}

static void
build_levels(frame* f, const chart* c)
{
  const double y = f->height - LEVELS_HEIGHT;
  (void)layout_add_level(f, c, ITEM_MATCH, "match", 346);
  item* const check =
    layout_add(f, ITEM_CHECK, (chart_box){451, y + 2, 114, 23});
  check->param = EQUAL_LOUDNESS;
  check->name  = "equal loudness";
  check->x     = 456;
  check->w     = 104;
  track_row_build(f, c);
  (void)layout_add_level(f, c, ITEM_BLIND, f->blind.is_on ? "tell" : "blind",
                         471);
  add_row(f, c, f->trim, "Trim", f->width - MARGIN - 165, y + 6, 165);
}

/// What the line of help asks, and the words to be pressed behind it: "lead
/// changed: take over  keep"
static void
build_question(frame* f, const chart* c)
{
  char           text[HELP_QUESTION];
  const char*    words[3] = {"take over", "keep", ""};
  const double   y        = layout_band(f, BAND_HELP).y;
  const uint32_t n        = f->loaded.is_offered ? 2
                            : group_asks(f)      ? group_answers(f, words)
                                                 : 0;
  help_question(f, text);
  double x = MARGIN + 8 + chart_text_width(c, word_type, "%s", text);
  for (uint32_t i = 0; i < n; ++i) {
    const double w = chart_text_width(c, word_type, "%s", words[i]);
    item* const  it =
      layout_add(f, ITEM_ANSWER, (chart_box){x - 6, y + 3, w + 12, 24});
    it->param = i;
    it->name  = words[i];
    it->x     = x;
    it->w     = w;
    x += w + CHOICE_GAP;
  }
}

void
layout_build(frame* f)
{
  // Measured on a picture of the same scale: hints round widths
  cairo_surface_t* const s =
    f->shown ? cairo_surface_reference(f->shown)
             : cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
  cairo_t* const cr = cairo_create(s);
  const chart    c  = frame_chart(f, cr);
  f->n_items        = 0;
  build_columns(f);
  build_figures(f);
  build_header(f, &c);
  build_act(f, &c);
  build_rows(f, &c);
  build_levels(f, &c);
  build_question(f, &c);
  const uint32_t first = f->n_items;
  if (f->is_menu_open) {
    f->menu_param == MENU_SETUP   ? menu_build(f, &c)
    : f->menu_param == MENU_GROUP ? group_menu_build(f, &c)
                                  : row_menu_build(f);
  }
  for (uint32_t i = first; i < f->n_items; ++i) {
    f->items[i].is_in_menu = true;
  }
  cairo_destroy(cr);
  cairo_surface_destroy(s);
  // What the pointer or the keys were on may be gone
  f->focus = f->focus < (int)f->n_items ? f->focus : -1;
  f->hover = f->hover < (int)f->n_items ? f->hover : -1;
}
