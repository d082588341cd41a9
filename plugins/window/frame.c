// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Larger than any screen wants, within what memory bears
enum { MOST_PX = 8192 };

static void
take_prefs(frame* f)
{
  f->prefs_count = prefs_count();
  f->palette     = prefs_is_paper(&f->prefs) ? &chart_paper : &chart_night;
  f->scale       = prefs_scale(&f->prefs);
  f->bands       = BAND_ALL;
}

static void
set_defaults(frame* f)
{
  for (uint32_t i = 0; i < f->n_params; ++i) {
    f->value[i]     = shell_param(f->form.plugin, i)->def;
    f->settled[i]   = f->value[i];
    f->moved_s[i]   = -1e9;
    f->held_s[i]    = -1e9;
    f->written_s[i] = -1e9;
  }
  shell_meters m = {.in_db = -120, .out_db = -120};
  memcpy(f->meter, &m, sizeof(m));
}

frame*
frame_new(const plugin_form* form,
          const frame_host*  host,
          const prefs_host*  prefs)
{
  frame* const f = calloc(1, sizeof(*f));
  if (!f) {
    return NULL;
  }
  f->form        = *form;
  f->host        = *host;
  f->prefs       = *prefs;
  f->pic         = picture_of(form->plugin->stem);
  f->rows        = sheet_of(form->plugin);
  f->n_params    = shell_param_count(form->plugin);
  f->n_meters    = shell_meter_count(form->plugin);
  f->trim        = (uint32_t)shell_port(form->plugin, "trim_db");
  f->mark_param  = shell_port(form->plugin, "window_mark");
  f->match_meter = shell_port(form->plugin, "match_db") - (int)f->n_params;
  f->menu_param  = MENU_SETUP;
  f->hover = f->hover_handle = f->focus = -1;
  f->drag.item = f->drag.handle = -1;
  f->press_s                    = -1;
  f->past                       = meter_past_new();
  f->kept                       = past_new();
  set_defaults(f);
  loaded_clear(f);
  group_begin(f);
  track_row_begin(f);
  take_prefs(f);
  if (!f->past || !f->kept || !parts_make(f)) {
    frame_free(f);
    return NULL;
  }
  return f;
}

/// Leaves the controls as the memory that plays has them, and keeps the past
static void
leave(frame* f)
{
  gesture_end(f);
  group_end(f);
  track_row_end(&f->of_track.row);
  blind_tell(f);
  compare_end(f);
  memory_store(f);
  past_leave(f->kept);
}

void
frame_free(frame* f)
{
  if (f->kept) {
    leave(f);
  }
  setup_menu_forget(f);
  loaded_clear(f);
  parts_free(f);
  meter_past_free(f->past);
  cairo_surface_destroy(f->still);
  cairo_surface_destroy(f->shown);
  free(f);
}

void
frame_wanted_size(const frame* f, int* width, int* height)
{
  *width  = (int)lround(FRAME_WIDTH * f->scale);
  *height = (int)lround(FRAME_HEIGHT * f->scale);
}

/// Places everything in a picture of the present scale.  A small window shows
/// the sheet cut off.
static void
place(frame* f)
{
  const int w = cairo_image_surface_get_width(f->shown);
  const int h = cairo_image_surface_get_height(f->shown);
  f->width    = fmax(FRAME_WIDTH, floor(w / f->scale));
  f->height   = fmax(FRAME_HEIGHT, floor(h / f->scale));
  layout_build(f);
  for (uint32_t i = 0; i <= PICTURE_MAX_MARKS; ++i) {
    f->marks[i].boxes.n = 0;
  }
  f->bands      = BAND_ALL;
  f->is_exposed = true;
}

bool
frame_resize(frame* f, int width, int height)
{
  const bool is_sane =
    width > 0 && height > 0 && width <= MOST_PX && height <= MOST_PX;
  if (!is_sane) {
    return false;
  }
  if (f->shown && cairo_image_surface_get_width(f->shown) == width &&
      cairo_image_surface_get_height(f->shown) == height) {
    return true;
  }
  cairo_surface_t* const still =
    cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
  cairo_surface_t* const shown =
    cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
  if (cairo_surface_status(still) || cairo_surface_status(shown)) {
    cairo_surface_destroy(still);
    cairo_surface_destroy(shown);
    return false;
  }
  cairo_surface_destroy(f->still);
  cairo_surface_destroy(f->shown);
  f->still = still;
  f->shown = shown;
  place(f);
  return true;
}

/// Another window, or this one's menu, chose a ground or a scale
void
frame_follow_prefs(frame* f)
{
  if (f->prefs_count == prefs_count()) {
    return;
  }
  const double before = f->scale;
  take_prefs(f);
  if (f->shown) {
    place(f);
  }
  if (f->scale != before && f->host.resize) {
    int width  = 0;
    int height = 0;
    frame_wanted_size(f, &width, &height);
    f->host.resize(f->host.handle, width, height);
  }
}
