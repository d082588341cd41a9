// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>
#include <stdio.h>

#define NAME_Y  11.0 // Baseline of name and value, from the row's top
#define WORDS_Y 25.0
#define AUTO_S  1.0
#define HELD_S  2.0

static row_state
state_of(const frame* f, const item* it, int index)
{
  const uint32_t  p = it->param;
  const row_state s = {
    .is_hover   = index == f->hover,
    .is_focus   = index == f->focus,
    .is_typing  = index == f->focus && f->is_typing,
    .is_dragged = f->is_touched[p] && f->drag.is_moving,
    .is_auto    = f->now_s - f->moved_s[p] < AUTO_S,
    .is_held    = f->now_s - f->held_s[p] < HELD_S,
    .follows    = f->now_s - f->followed_s[p] < AUTO_S && f->followed_s[p] > 0,
    .has_effect = sheet_has_effect(f->form.plugin, p, f->value),
  };
  return s;
}

// ---------------------------------------------------------------------------
// Words

static void
draw_typed(const frame* f, chart* c, const item* it, const char* unit)
{
  const chart_type value = {
    .size = 12, .colour = CHART_INK, .align = CHART_RIGHT};
  const chart_type units = {
    .size = 10, .colour = CHART_MUTED, .align = CHART_RIGHT};
  const double right = it->x + it->w;
  const double y     = it->box.y + NAME_Y;
  double       w = *unit ? chart_text(c, units, right, y, "%s", unit) + 4 : 0;
  if (f->is_whole) {
    const double typed = chart_text_width(c, value, "%s", f->typed);
    chart_rectangle(
      c, (chart_box){right - w - 4 - typed, y - 11, typed + 3, 14}, CHART_RULE);
  }
  chart_text(c, value, right - w - 2, y, "%s", f->typed);
  chart_line(c, right - w - 0.5, y - 10, right - w - 0.5, y + 2, 1, CHART_INK);
  w = fmax(80, w + chart_text_width(c, value, "%s", f->typed) + 10);
  chart_frame(c, (chart_box){right - w + 5, it->box.y - 3, w + 1, 18}, 2,
              CHART_BLUE);
}

/// The figure and its unit; returns where they begin
static double
draw_value(const frame* f, chart* c, const item* it, row_state s)
{
  const param_info* const p     = frame_info(f, it->param);
  const double            right = it->x + it->w;
  const double            y     = it->box.y + NAME_Y;
  const char* const       unit  = control_unit(p, f->value[it->param]);
  char                    figure[CONTROL_TEXT];
  chart_type              value = {.size = 12,
                                   .colour = s.has_effect ? CHART_INK : CHART_GREY,
                                   .align = CHART_RIGHT};
  chart_type              units = {.size = 10,
                                   .colour = s.has_effect ? CHART_MUTED : CHART_GREY,
                                   .align = CHART_RIGHT};
  if (s.is_typing) {
    draw_typed(f, c, it, unit);
    return right - 80;
  }
  control_figure(p, f->value[it->param], figure);
  double w = *unit ? chart_text(c, units, right, y, "%s", unit) + 5 : 0;
  w += chart_text(c, value, right - w, y, "%s", figure);
  if (s.is_focus) {
    chart_frame(c, (chart_box){right - w - 4, it->box.y - 3, w + 9, 18}, 1,
                CHART_INK);
  }
  return right - w;
}

/// Six polar patterns, as r = a + (1 - a) cos: microphone to the right
static void
draw_polar(chart* c, double x, double y, uint32_t i, chart_colour colour)
{
  // Omni, subcardioid, cardioid, super-, hypercardioid, figure-8
  static const double share[] = {1, 0.7, 0.5, 0.37, 0.25, 0};

  const double a = share[i < 6 ? i : 5];
  const double r = 6;
  for (int k = 0; k <= 72; ++k) {
    const double t = k * 3.14159265358979323846 / 36;
    const double s = fabs(a + (1 - a) * cos(t)) * r;
    cairo_line_to(c->cr, x + s * cos(t), y + s * sin(t));
  }
  cairo_close_path(c->cr);
  chart_use(c, colour);
  cairo_set_line_width(c->cr, 1.2);
  cairo_stroke(c->cr);
}

static void
draw_word_bar(chart* c, chart_box word, double y)
{
  chart_rectangle(c, (chart_box){word.x, y, word.w, 2}, CHART_BLUE);
}

/// One word of a choice, or its drawing
static void
draw_choice(chart*      c,
            const item* it,
            uint32_t    i,
            const char* label, // NULL: a polar pattern
            bool        is_now,
            row_state   s)
{
  const chart_box    w     = it->word[i];
  const double       y     = it->box.y + (it->is_in_header ? 18 : WORDS_Y);
  const chart_colour other = s.has_effect ? CHART_MUTED : CHART_GREY;
  const chart_colour ink   = is_now && s.has_effect ? CHART_INK : other;
  chart_box          bar   = w;
  if (label) {
    chart_text(c, (chart_type){.size = 11, .colour = ink}, w.x, y, "%s", label);
  } else {
    draw_polar(c, w.x + 13, w.y + 10, i, ink);
    bar = (chart_box){w.x + 4, 0, 18, 0};
  }
  if (is_now) {
    draw_word_bar(c, bar, y + (it->is_in_header ? 4 : 3));
  }
  if (is_now && s.is_focus) {
    chart_frame(c, (chart_box){bar.x - 4, y - 12, bar.w + 9, 19}, 1, CHART_INK);
  }
}

static void
draw_choices(const frame* f, chart* c, const item* it, row_state s)
{
  const bool      is_polar = sheet_is_polar(f->form.plugin, it->param);
  const uint32_t  now      = (uint32_t)lroundf(f->value[it->param]);
  control_choices choices;
  control_labels(frame_info(f, it->param), &choices);
  for (uint32_t i = 0; i < it->n_words; ++i) {
    draw_choice(c, it, i, is_polar ? NULL : choices.label[i], i == now, s);
  }
  const chart_type right = {.size   = is_polar ? 12 : 10,
                            .colour = is_polar ? CHART_INK : CHART_MUTED,
                            .align  = CHART_RIGHT};
  chart_text(c, right, it->x + it->w, it->box.y + NAME_Y, "%s",
             is_polar && now < choices.n ? choices.label[now] : choices.unit);
}

/// While nobody is to know: its name alone
static void
draw_blind(chart* c, const item* it)
{
  const chart_type name = {.size = 11, .colour = CHART_GREY};
  const double     y    = it->box.y + NAME_Y;
  chart_text(c, name, it->x, y, "%s", it->name);
  chart_text(
    c, (chart_type){.size = 12, .colour = CHART_GREY, .align = CHART_RIGHT},
    it->x + it->w, y, "\xE2\x80\x93");
}

/// Of the group, behind the name of a control that takes part
static void
draw_letter(const frame* f, chart* c, const item* it, double after)
{
  const char letter = group_letter(f, it->param);
  if (letter) {
    const chart_type bold = {.size = 10, .colour = CHART_INK, .is_bold = true};
    const double     x    = it->x + after + 6;
    const double w = chart_text(c, bold, x, it->box.y + NAME_Y, "%c", letter);
    chart_rectangle(c, (chart_box){x, it->box.y + NAME_Y + 2, w, 1.5},
                    CHART_BLUE);
  }
}

/// Writes what has just become of a control, or is to be known of it; false if
/// there is nothing
static bool
state_word(const frame* f, uint32_t param, row_state s, char text[CONTROL_TEXT])
{
  const bool is_compared = param == f->trim && f->compare.is_comparing;
  if (!s.is_held && !is_compared && group_behind(f, param, text)) {
    return true;
  }
  const char* const word = s.is_held     ? "held"
                           : is_compared ? "for comparing"
                           : s.follows   ? "follows"
                           : s.is_auto   ? "auto"
                                         : "";
  (void)snprintf(text, CONTROL_TEXT, "%s", word);
  return *word;
}

/// Scale, value, and the word of its state
static void
draw_number(const frame* f, chart* c, const item* it, row_state s)
{
  const chart_type word = {
    .size = 10, .colour = CHART_INK, .align = CHART_RIGHT};
  char text[CONTROL_TEXT];
  scale_draw(f, c, it, s);
  const double left = draw_value(f, c, it, s);
  if (!s.is_typing && state_word(f, it->param, s, text)) {
    chart_text(c, word, left - 8, it->box.y + NAME_Y, "%s", text);
  }
}

static void
draw_name(const frame* f, chart* c, const item* it, row_state s)
{
  const bool       is_lit = s.is_hover || s.is_focus || s.is_dragged;
  const chart_type type   = {.size   = 11,
                             .colour = !s.has_effect ? CHART_GREY
                                       : is_lit      ? CHART_INK
                                                     : CHART_MUTED};
  const double     w =
    chart_text(c, type, it->x, it->box.y + NAME_Y, "%s", it->name);
  draw_letter(f, c, it, w);
}

void
row_draw(const frame* f, chart* c, const item* it, int index)
{
  const row_state s = state_of(f, it, index);
  if (it->is_in_header) {
    draw_choices(f, c, it, s);
    return;
  }
  if (f->blind.is_on) {
    draw_blind(c, it);
    return;
  }
  if (s.is_hover || s.is_dragged) {
    chart_rectangle(c, (chart_box){it->box.x, it->box.y - 1, it->box.w, 32},
                    CHART_TINT);
  }
  draw_name(f, c, it, s);
  if (it->n_words) {
    draw_choices(f, c, it, s);
  } else {
    draw_number(f, c, it, s);
  }
}

void
rows_draw(frame* f, chart* c)
{
  for (uint32_t i = 0; i < f->rows.n; ++i) {
    const chart_type heading = {
      .size = 11, .colour = CHART_INK, .is_bold = true};
    const double x = f->column_x[i];
    chart_text(c, heading, x, f->rows_top - 11, "%s",
               f->rows.columns[i].heading);
    chart_line(c, x, f->rows_top - 6, x + f->column_w, f->rows_top - 6, 1,
               CHART_RULE);
  }
  const double foot = layout_band(f, BAND_LEVELS).y;
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind == ITEM_ROW && it->box.y >= f->rows_top - 1 &&
        it->box.y < foot) {
      row_draw(f, c, it, (int)i);
    }
  }
}
