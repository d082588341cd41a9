// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Two pictures: one of what stands still, drawn in bands where something has
/// changed, and a copy of it with what moves

#include "frame_state.h"

#include <math.h>
#include <string.h>

static platform_box
device_box(const frame* f, chart_box b)
{
  const int w  = cairo_image_surface_get_width(f->shown);
  const int h  = cairo_image_surface_get_height(f->shown);
  const int x0 = (int)fmin(fmax(floor(b.x * f->scale), 0), w);
  const int y0 = (int)fmin(fmax(floor(b.y * f->scale), 0), h);
  const int x1 = (int)fmin(fmax(ceil((b.x + b.w) * f->scale), 0), w);
  const int y1 = (int)fmin(fmax(ceil((b.y + b.h) * f->scale), 0), h);
  return (platform_box){x0, y0, x1 - x0, y1 - y0};
}

/// What is new, for the window: joined to one where there is no room
typedef struct {
  platform_box* box;
  uint32_t      most, n;
} new_boxes;

static void
add_new(new_boxes* to, platform_box b)
{
  if (b.w <= 0 || b.h <= 0) {
    return;
  }
  if (to->n < to->most) {
    to->box[to->n++] = b;
    return;
  }
  platform_box* const last = &to->box[to->most - 1];
  const int x1 = last->x + last->w > b.x + b.w ? last->x + last->w : b.x + b.w;
  const int y1 = last->y + last->h > b.y + b.h ? last->y + last->h : b.y + b.h;
  last->x      = last->x < b.x ? last->x : b.x;
  last->y      = last->y < b.y ? last->y : b.y;
  last->w      = x1 - last->x;
  last->h      = y1 - last->y;
}

/// Takes what stands still over into what is shown
static void
restore(frame* f, platform_box b)
{
  const unsigned char* const from   = cairo_image_surface_get_data(f->still);
  unsigned char* const       to     = cairo_image_surface_get_data(f->shown);
  const int                  stride = cairo_image_surface_get_stride(f->still);
  cairo_surface_flush(f->shown);
  for (int y = b.y; y < b.y + b.h && b.w > 0; ++y) {
    const size_t at = (size_t)y * (size_t)stride + 4U * (size_t)b.x;
    memcpy(to + at, from + at, 4U * (size_t)b.w);
  }
  cairo_surface_mark_dirty_rectangle(f->shown, b.x, b.y, b.w, b.h);
}

static void
draw_band(frame* f, chart* c, unsigned band)
{
  const chart_box b = layout_band(f, band);
  cairo_save(c->cr);
  cairo_rectangle(c->cr, 0, floor(b.y * f->scale) / f->scale, f->width + 1,
                  ceil((b.y + b.h) * f->scale) / f->scale -
                    floor(b.y * f->scale) / f->scale);
  cairo_clip(c->cr);
  chart_use(c, CHART_GROUND);
  cairo_paint(c->cr);
  switch (band) {
    case BAND_HEADER:
      header_draw(f, c);
      break;
    case BAND_FIGURES:
      figures_draw(f, c);
      break;
    case BAND_ROWS:
      rows_draw(f, c);
      break;
    case BAND_LEVELS:
      levels_draw(f, c);
      break;
    default:
      help_draw(f, c);
      break;
  }
  if (f->is_menu_open) {
    (f->menu_param == MENU_SETUP   ? menu_draw
     : f->menu_param == MENU_GROUP ? group_menu_draw
                                   : row_menu_draw)(f, c);
  }
  cairo_restore(c->cr);
}

static void
draw_bands(frame* f, new_boxes* boxes)
{
  cairo_t* const cr = cairo_create(f->still);
  chart          c  = frame_chart(f, cr);
  for (unsigned band = 1; band <= BAND_HELP; band *= 2) {
    if (f->bands & band) {
      draw_band(f, &c, band);
    }
  }
  cairo_destroy(cr);
  cairo_surface_flush(f->still);
  for (unsigned band = 1; band <= BAND_HELP; band *= 2) {
    if (f->bands & band) {
      chart_box b = layout_band(f, band);
      b.w += 1;
      const platform_box d = device_box(f, b);
      restore(f, d);
      add_new(boxes, d);
    }
  }
}

// ---------------------------------------------------------------------------
// What moves

/// Whether a mark is to be drawn again: with news, but no more often than it
/// wants; a history goes on in silence until it has run out
static bool
is_due(const frame* f, const mark_state* m, double hz)
{
  const double since_s = f->now_s - m->drawn_s;
  const bool   is_past = hz < 10 && since_s < METER_PAST_S;
  if (since_s < 0.9 / hz && since_s >= 0) {
    return false;
  }
  return m->drawn_news != f->meter_news || (is_past && frame_is_playing(f));
}

static void
draw_mark(frame* f, uint32_t i, chart* c)
{
  mark_state* const m = &f->marks[i];
  m->boxes.n          = 0;
  c->touched          = &m->boxes;
  if (i == PICTURE_MAX_MARKS) {
    levels_draw_now(f, c);
  } else {
    const picture_view v = frame_view(f);
    f->pic->marks[i].draw(c, &v);
  }
  c->touched    = NULL;
  m->drawn_s    = f->now_s;
  m->drawn_news = f->meter_news;
}

/// Draws a mark over what stands still: first takes its old self away
static void
renew_mark(frame* f, uint32_t i, chart* c, new_boxes* boxes)
{
  mark_state* const m = &f->marks[i];
  for (uint32_t k = 0; k < m->boxes.n; ++k) {
    const platform_box d = device_box(f, m->boxes.box[k]);
    restore(f, d);
    add_new(boxes, d);
  }
  draw_mark(f, i, c);
  for (uint32_t k = 0; k < m->boxes.n; ++k) {
    add_new(boxes, device_box(f, m->boxes.box[k]));
  }
}

static void
draw_marks(frame* f, bool is_all, new_boxes* boxes)
{
  cairo_t* cr = NULL;
  chart    c  = {0};
  for (uint32_t i = 0; i <= PICTURE_MAX_MARKS; ++i) {
    const bool   is_levels     = i == PICTURE_MAX_MARKS;
    const double hz            = is_levels             ? 30
                                 : i < f->pic->n_marks ? f->pic->marks[i].hz
                                                       : 0;
    const bool   is_under_menu = f->is_menu_open && !is_levels;
    if (hz <= 0 || is_under_menu || (f->blind.is_on && !is_levels) ||
        !(is_all || is_due(f, &f->marks[i], hz))) {
      continue;
    }
    if (!cr) {
      cr = cairo_create(f->shown);
      c  = frame_chart(f, cr);
    }
    renew_mark(f, i, &c, boxes);
  }
  if (cr) {
    cairo_destroy(cr);
    cairo_surface_flush(f->shown);
  }
}

platform_pixels
frame_paint(frame* f, platform_box* boxes, uint32_t most, uint32_t* n)
{
  new_boxes to = {boxes, most, 0};
  *n           = 0;
  if (!f->shown) {
    return (platform_pixels){0};
  }
  const bool is_all = (f->bands & (BAND_FIGURES | BAND_LEVELS)) != 0;
  if (f->bands) {
    draw_bands(f, &to);
  }
  draw_marks(f, is_all, &to);
  f->bands                = 0;
  const platform_pixels p = {cairo_image_surface_get_data(f->shown),
                             cairo_image_surface_get_width(f->shown),
                             cairo_image_surface_get_height(f->shown),
                             cairo_image_surface_get_stride(f->shown)};
  if (f->is_exposed) {
    to.n = 0;
    add_new(&to, (platform_box){0, 0, p.width, p.height});
    f->is_exposed = false;
  }
  *n = to.n;
  return p;
}

void
frame_expose(frame* f)
{
  f->is_exposed = true;
}
