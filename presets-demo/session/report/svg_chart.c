// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svg_chart.h"

#include "html.h"

#include "presets-demo/render/program/alloc.h"

#include <cairo-svg.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// By chart_colour: the names in page.css
static const char* const names[CHART_N_COLOURS] = {
  [CHART_GROUND] = "ground", [CHART_TINT] = "tint", [CHART_INK] = "ink",
  [CHART_MUTED] = "muted",   [CHART_BLUE] = "blue", [CHART_GREY] = "grey",
  [CHART_RULE] = "rule"};

static cairo_status_t
append(void* user, const unsigned char* data, unsigned n)
{
  svg_chart* const s = user;
  if (s->n + n + 1 > s->room) {
    s->room = 2 * (s->n + n + 1);
    s->text = alloc_grow(s->text, s->room, 1);
  }
  memcpy(s->text + s->n, data, n);
  s->n += n;
  s->text[s->n] = '\0';
  return CAIRO_STATUS_SUCCESS;
}

void
svg_chart_begin(svg_chart* s, double width, double height)
{
  *s         = (svg_chart){.width = width, .height = height};
  s->surface = cairo_svg_surface_create_for_stream(append, s, width, height);
  s->chart   = (chart){.cr = cairo_create(s->surface), .palette = &chart_paper};
}

void
svg_chart_end(svg_chart* s)
{
  cairo_surface_finish(s->surface);
  if (cairo_status(s->chart.cr) || cairo_surface_status(s->surface)) {
    free(s->text);
    s->text = NULL;
  }
  cairo_destroy(s->chart.cr);
  cairo_surface_destroy(s->surface);
  s->chart.cr = NULL;
  s->surface  = NULL;
}

void
svg_chart_clear(svg_chart* s)
{
  free(s->text);
  *s = (svg_chart){.text = NULL};
}

static size_t
starts_with(const char* text, const char* start)
{
  const size_t n = strlen(start);
  return strncmp(text, start, n) ? 0 : n;
}

/// Reads a colour that cairo wrote as percentages, "rgb(16%,37.5%,53%)";
/// returns its length, 0 if it is none
static size_t
read_colour(const char* text, uint32_t* rgb)
{
  size_t n = starts_with(text, "rgb(");
  *rgb     = 0;
  for (int i = 0; n && i < 3; ++i) {
    char*        end     = NULL;
    const double percent = strtod(text + n, &end);
    const char*  after   = i < 2 ? "%," : "%)";
    if (end == text + n || !starts_with(end, after)) {
      return 0;
    }
    *rgb = *rgb << 8U | (uint32_t)lrint(2.55 * percent);
    n    = (size_t)(end - text) + strlen(after);
  }
  return n;
}

/// Prints a colour of the palette by its name; returns its length in the text,
/// 0 if it is something else
static size_t
print_colour(const char* text, FILE* html)
{
  uint32_t     rgb = 0;
  const size_t n   = read_colour(text, &rgb);
  for (int i = 0; n && i < CHART_N_COLOURS; ++i) {
    if (chart_paper.rgb[i] == rgb) {
      (void)fprintf(html, "var(--%s)", names[i]);
      return n;
    }
  }
  return 0;
}

/// Prints what cairo names within the picture, with a number before it, so that
/// no other picture of the page has the same; returns the length of what it
/// printed, 0 if it is something else
static size_t
print_id(const char* text, uint32_t number, FILE* html)
{
  static const char* const starts[] = {" id=\"", "href=\"#", "url(#"};
  for (size_t i = 0; i < sizeof(starts) / sizeof(starts[0]); ++i) {
    const size_t n = starts_with(text, starts[i]);
    if (n) {
      (void)fprintf(html, "%sp%u-", starts[i], number);
      return n;
    }
  }
  return 0;
}

void
svg_chart_print(const svg_chart* s,
                uint32_t         number,
                const char*      label,
                FILE*            html)
{
  const char* at = s->text ? strstr(s->text, "<svg") : NULL;
  at             = at ? strchr(at, '>') : NULL;
  if (!at) {
    return;
  }
  (void)fputs("<svg role=\"img\" aria-label=\"", html);
  html_text(html, label);
  (void)fprintf(html,
                "\" viewBox=\"0 0 %g %g\" xmlns=\"http://www.w3.org/2000/svg\" "
                "xmlns:xlink=\"http://www.w3.org/1999/xlink\"",
                s->width, s->height);
  while (*at) {
    size_t n = print_colour(at, html);
    if (!n) {
      n = print_id(at, number, html);
    }
    if (!n) {
      (void)fputc(*at, html);
      n = 1;
    }
    at += n;
  }
}
