// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chart.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define FAMILY "DejaVu Sans" // fontconfig knows what is nearest without it
#define MINUS  "\xE2\x88\x92"

enum { TEXT_SIZE = 512 };

/// Replaces the hyphen of numbers by a minus
static void
set_minus(const char* from, char* to)
{
  size_t n = 0;
  for (const char* c = from; *c && n + sizeof(MINUS) < TEXT_SIZE; ++c) {
    const bool starts = c == from || c[-1] == ' ' || c[-1] == '(';
    if (*c == '-' && starts && isdigit((unsigned char)c[1])) {
      memcpy(&to[n], MINUS, sizeof(MINUS) - 1);
      n += sizeof(MINUS) - 1;
    } else {
      to[n++] = *c;
    }
  }
  to[n] = '\0';
}

static void
print_text(char text[TEXT_SIZE], const char* format, va_list args)
{
  char raw[TEXT_SIZE];
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): the callers start it
  (void)vsnprintf(raw, sizeof(raw), format, args);
  set_minus(raw, text);
}

static void
select_font(const chart* c, chart_type type)
{
  cairo_select_font_face(c->cr, FAMILY, CAIRO_FONT_SLANT_NORMAL,
                         type.is_bold ? CAIRO_FONT_WEIGHT_BOLD
                                      : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(c->cr, type.size);
}

static double
width_of(const chart* c, const char* text)
{
  cairo_text_extents_t e;
  cairo_text_extents(c->cr, text, &e);
  return e.x_advance;
}

double
chart_text(chart*      c,
           chart_type  type,
           double      x,
           double      baseline,
           const char* format,
           ...)
{
  char    text[TEXT_SIZE];
  va_list args;
  va_start(args, format);
  print_text(text, format, args);
  va_end(args);

  select_font(c, type);
  const double w = width_of(c, text);
  x -= type.align == CHART_RIGHT ? w : type.align == CHART_CENTRE ? 0.5 * w : 0;
  if (type.is_backed) {
    chart_rectangle(
      c,
      (chart_box){x - 2, baseline - 0.85 * type.size, w + 4, 1.1 * type.size},
      CHART_GROUND);
  }
  chart_use(c, type.colour);
  cairo_move_to(c->cr, x, baseline);
  cairo_show_text(c->cr, text);
  cairo_new_path(c->cr); // It leaves a point that a line would start from
  chart_touch(c, x - 1, baseline - type.size, w + 2, 1.3 * type.size);
  return w;
}

double
chart_text_width(const chart* c, chart_type type, const char* format, ...)
{
  char    text[TEXT_SIZE];
  va_list args;
  va_start(args, format);
  print_text(text, format, args);
  va_end(args);
  select_font(c, type);
  return width_of(c, text);
}
