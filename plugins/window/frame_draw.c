// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

chart
frame_chart(const frame* f, cairo_t* cr)
{
  cairo_scale(cr, f->scale, f->scale);
  cairo_font_options_t* const o = cairo_font_options_create();
  cairo_font_options_set_antialias(o, CAIRO_ANTIALIAS_GRAY);
  cairo_font_options_set_hint_style(o, CAIRO_HINT_STYLE_SLIGHT);
  cairo_font_options_set_hint_metrics(o, CAIRO_HINT_METRICS_OFF);
  cairo_set_font_options(cr, o);
  cairo_font_options_destroy(o);
  return (chart){
    .cr      = cr,
    .palette = f->palette,
    .is_off  = f->value[ENABLED] <= 0.0F,
  };
}

/// A or B: the one that plays has a bar
static void
draw_memory(const frame* f, chart* c, const item* it, int index)
{
  const uint32_t   now    = f->blind.is_on ? blind_now(f) : f->kept->now;
  const bool       is_now = it->param == now;
  const bool       is_lit = is_now || index == f->hover;
  const chart_type type   = {.size   = 11,
                             .colour = is_lit ? CHART_INK : CHART_MUTED};
  chart_text(c, type, it->x, 25, "%s", it->name);
  if (is_now) {
    chart_rectangle(c, (chart_box){it->x, 29, it->w, 2}, CHART_BLUE);
  }
  if (index == f->focus) {
    chart_frame(c, it->box, 1, CHART_INK);
  }
}

static void
draw_word(const frame* f, chart* c, const item* it, int index)
{
  const bool       can  = it->kind == ITEM_UNDO   ? history_can_undo(f)
                          : it->kind == ITEM_REDO ? history_can_redo(f)
                                                  : true;
  const chart_type type = {.size = 11, .colour = can ? CHART_INK : CHART_GREY};
  chart_text(c, type, it->x, 25, "%s", it->name);
  if (it->kind == ITEM_MENU || it->kind == ITEM_GROUP) {
    chart_triangle(c, it->x + it->w + 7, 24, 5, true, CHART_INK);
  }
  if (index == f->focus) {
    chart_frame(c, it->box, 1, CHART_INK);
  } else if (index == f->hover) {
    chart_line(c, it->x, 29, it->x + it->w, 29, 1, type.colour);
  }
}

void
header_draw(const frame* f, chart* c)
{
  const chart_type title = {.size = 15, .colour = CHART_INK, .is_bold = true};
  chart_text(c, title, MARGIN, 25, "%s", f->form.plugin->name);
  chart_line(c, 0, HEADER_BOTTOM, f->width, HEADER_BOTTOM, 1, CHART_RULE);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind == ITEM_UNDO || it->kind == ITEM_REDO ||
        it->kind == ITEM_COPY || it->kind == ITEM_PASTE ||
        it->kind == ITEM_MENU || it->kind == ITEM_GROUP) {
      draw_word(f, c, it, (int)i);
    } else if (it->kind == ITEM_MEMORY) {
      draw_memory(f, c, it, (int)i);
    } else if (it->is_in_header) {
      row_draw(f, c, it, (int)i);
    }
  }
}

// ---------------------------------------------------------------------------
// Figures

static bool
has_keys(const frame* f, const picture_handle* h)
{
  if (f->focus < 0 || f->items[f->focus].kind != ITEM_ROW) {
    return false;
  }
  const int row = (int)f->items[f->focus].param - (int)SHELL_FIRST_PARAMS;
  return row >= 0 && (row == h->across || row == h->upright || row == h->width);
}

/// An open square of 9 px; full while pointed at or dragged; two frames round
/// that of the row with the keys
static void
draw_handle(const frame* f, chart* c, uint32_t i)
{
  const picture_handle* const h = &f->handles[i];
  const double                x = chart_sharp(c, h->x - 4.5, 2);
  const double                y = chart_sharp(c, h->y - 4.5, 2);
  const bool is_full = (int)i == f->hover_handle || (int)i == f->drag.handle;
  const chart_colour colour = c->is_off ? CHART_GREY : CHART_BLUE;
  chart_rectangle(c, (chart_box){x - 1, y - 1, 11, 11}, CHART_GROUND);
  if (is_full) {
    chart_rectangle(c, (chart_box){x, y, 9, 9}, colour);
  } else {
    chart_frame(c, (chart_box){x + 0.5, y + 0.5, 9, 9}, 1.5, colour);
  }
  if (has_keys(f, h)) {
    chart_frame(c, (chart_box){x - 4, y - 4, 18, 18}, 1, CHART_INK);
  }
}

/// Nothing that would tell
static void
hide_figures(const frame* f, chart* c)
{
  const chart_type type = {
    .size = 11, .colour = CHART_MUTED, .align = CHART_CENTRE};
  chart_text(c, type, 0.5 * f->width, 0.5 * (PLOT_TOP + f->rows_top), "%s",
             "Hidden while the comparison is blind");
}

/// The picture's word, grey while it can do nothing
static void
draw_act(const frame* f, chart* c)
{
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it   = &f->items[i];
    const chart_type  type = {
       .size = 11, .colour = frame_can_act(f) ? CHART_INK : CHART_GREY};
    if (it->kind != ITEM_ACT) {
      continue;
    }
    chart_text(c, type, it->x, CAPTION_Y, "%s", it->name);
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    } else if ((int)i == f->hover) {
      chart_line(c, it->x, CAPTION_Y + 4, it->x + it->w, CAPTION_Y + 4, 1,
                 type.colour);
    }
  }
}

void
figures_draw(frame* f, chart* c)
{
  const picture_view v = frame_view(f);
  for (uint32_t i = 0; i < f->pic->n_figures; ++i) {
    const picture_figure* const g = &f->pic->figures[i];
    const chart_type bold  = {.size = 11, .colour = CHART_INK, .is_bold = true};
    const chart_type plain = {.size = 11, .colour = CHART_MUTED};
    const double     x     = f->column_x[g->column];
    const double     w     = chart_text(c, bold, x, CAPTION_Y, "%s", g->title);
    chart_text(c, plain, x + w + 7, CAPTION_Y, "%s", g->subtitle);
  }
  f->n_handles = 0;
  if (f->blind.is_on) {
    hide_figures(f, c);
    return;
  }
  if (f->pic->draw) {
    f->pic->draw(c, &v);
  }
  draw_act(f, c);
  f->n_handles = f->pic->handles ? f->pic->handles(&v, f->handles) : 0;
  for (uint32_t i = 0; i < f->n_handles; ++i) {
    draw_handle(f, c, i);
  }
}
