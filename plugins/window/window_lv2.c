// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The LV2 side of the windows: one descriptor for all forms of all plugins.
/// The plugin's URI says which.  A window and its plugin share nothing but
/// ports.

#include "frame.h"
#include "window_clipboard.h"

#include <lv2/atom/atom.h>
#include <lv2/core/lv2.h>
#include <lv2/options/options.h>
#include <lv2/ui/ui.h>
#include <lv2/urid/urid.h>

#include <stdlib.h>
#include <string.h>

enum { MAX_PORTS = PARAMS_MAX + METERS_MAX + 32, MAX_BOXES = 48 };

#define FLOAT_PROTOCOL 0U

typedef struct {
  frame*               sheet;
  platform*            screen;
  LV2UI_Write_Function write;
  LV2UI_Controller     controller;
  const LV2UI_Touch*   touch;
  const LV2UI_Resize*  resize;
  window_clipboard     board;
  char*                bundle; ///< Its folder
  bool                 is_gone;

  // Ports of the host, by control and meter of ours
  uint32_t n_params, n_meters;
  uint32_t param_port[MAX_PORTS], meter_port[MAX_PORTS];
} window;

/// What the host offers
typedef struct {
  uintptr_t                 parent;
  const LV2UI_Port_Map*     port_map;
  const LV2UI_Touch*        touch;
  const LV2UI_Resize*       resize;
  const LV2_URID_Map*       map;
  const LV2_Options_Option* options;
} features;

static features
read_features(const LV2_Feature* const* list)
{
  features f = {0};
  for (uint32_t i = 0; list && list[i]; ++i) {
    const char* const uri  = list[i]->URI;
    void* const       data = list[i]->data;
    if (!strcmp(uri, LV2_UI__parent)) {
      f.parent = (uintptr_t)data;
    } else if (!strcmp(uri, LV2_UI__portMap)) {
      f.port_map = data;
    } else if (!strcmp(uri, LV2_UI__touch)) {
      f.touch = data;
    } else if (!strcmp(uri, LV2_UI__resize)) {
      f.resize = data;
    } else if (!strcmp(uri, LV2_URID__map)) {
      f.map = data;
    } else if (!strcmp(uri, LV2_OPTIONS__options)) {
      f.options = data;
    }
  }
  return f;
}

/// Whether paper is nearer to a colour (0xRRGGBBAA, as in the specification)
static bool
is_bright(int32_t rgba)
{
  const uint32_t c = (uint32_t)rgba;
  const double   y = 0.299 * (c >> 24U & 0xFFU) + 0.587 * (c >> 16U & 0xFFU) +
                   0.114 * (c >> 8U & 0xFFU);
  return y > 127.5;
}

static prefs_host
read_options(const features* f)
{
  prefs_host prefs = {0};
  if (!f->map || !f->options) {
    return prefs;
  }
  const LV2_URID_Map* const m      = f->map;
  const LV2_URID            number = m->map(m->handle, LV2_ATOM__Float);
  const LV2_URID            whole  = m->map(m->handle, LV2_ATOM__Int);
  const LV2_URID            scale  = m->map(m->handle, LV2_UI__scaleFactor);
  const LV2_URID            ground = m->map(m->handle, LV2_UI__backgroundColor);
  for (const LV2_Options_Option* o = f->options; o->key && o->value; ++o) {
    if (o->key == scale && o->type == number && o->size == sizeof(float)) {
      float value = 0;
      memcpy(&value, o->value, sizeof(value));
      prefs.scale = (double)value;
    } else if (o->key == ground && o->type == whole &&
               o->size == sizeof(int32_t)) {
      int32_t value = 0;
      memcpy(&value, o->value, sizeof(value));
      prefs.is_bright = is_bright(value);
    }
  }
  return prefs;
}

static bool
find_form(const char* uri, plugin_form* form)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      *form = shell_form(p, i);
      if (!strcmp(form->uri, uri)) {
        return true;
      }
    }
  }
  return false;
}

/// By symbol where the host can say, else by the tables
static void
find_ports(window* w, const plugin* p, const LV2UI_Port_Map* map)
{
  w->n_params = shell_param_count(p);
  w->n_meters = shell_meter_count(p);
  for (uint32_t i = 0; i < w->n_params; ++i) {
    w->param_port[i] =
      map ? map->port_index(map->handle, shell_param(p, i)->symbol) : i;
  }
  for (uint32_t i = 0; i < w->n_meters; ++i) {
    w->meter_port[i] =
      map ? map->port_index(map->handle, shell_meter(p, i)->symbol)
          : w->n_params + i;
  }
}

// ---------------------------------------------------------------------------
// From the frame

static void
on_write(void* handle, uint32_t param, float value)
{
  window* const w = handle;
  if (w->param_port[param] != LV2UI_INVALID_PORT_INDEX) {
    w->write(w->controller, w->param_port[param], sizeof(value), FLOAT_PROTOCOL,
             &value);
  }
}

static void
on_touch(void* handle, uint32_t param, bool is_held)
{
  window* const w = handle;
  if (w->touch && w->touch->touch &&
      w->param_port[param] != LV2UI_INVALID_PORT_INDEX) {
    w->touch->touch(w->touch->handle, w->param_port[param], is_held);
  }
}

static void
on_resize(void* handle, int width, int height)
{
  window* const w = handle;
  if (!w->screen) {
    return;
  }
  platform_resize(w->screen, width, height);
  if (w->resize && w->resize->ui_resize) {
    (void)w->resize->ui_resize(w->resize->handle, width, height);
  }
}

static bool
on_copy(void* handle, const char* text, size_t length)
{
  window* const w = handle;
  return w->screen && window_clipboard_copy(&w->board, w->screen, text, length);
}

static bool
on_ask(void* handle)
{
  window* const w = handle;
  return w->screen && window_clipboard_ask(&w->board, w->screen);
}

static void
on_say(void* handle, const window_message* m)
{
  const window* const w = handle;
  if (w->screen) {
    platform_say(w->screen, m);
  }
}

// ---------------------------------------------------------------------------
// From the window system

static void
on_message(void* handle, const window_message* m)
{
  frame_take_message(((window*)handle)->sheet, m);
}

static bool
on_event(void* handle, const window_event* e)
{
  return frame_event(((window*)handle)->sheet, e);
}

static void
on_size(void* handle, int width, int height)
{
  (void)frame_resize(((window*)handle)->sheet, width, height);
}

static void
on_expose(void* handle)
{
  frame_expose(((window*)handle)->sheet);
}

// ---------------------------------------------------------------------------
// LV2

static void
cleanup(LV2UI_Handle handle)
{
  window* const w = handle;
  if (w->sheet) {
    frame_free(w->sheet);
  }
  window_clipboard_close(&w->board);
  if (w->screen) {
    platform_close(w->screen);
  }
  free(w->bundle);
  free(w);
}

static bool
open_window(window* w, const plugin_form* form, const features* f)
{
  const prefs_host      prefs  = read_options(f);
  const frame_host      host   = {w,       on_write, on_touch,  on_resize,
                                  on_copy, on_ask,   w->bundle, on_say};
  const platform_client client = {w, on_event, on_size, on_expose, on_message};
  int                   width  = 0;
  int                   height = 0;
  w->sheet                     = frame_new(form, &host, &prefs);
  if (!w->sheet) {
    return false;
  }
  frame_wanted_size(w->sheet, &width, &height);
  w->screen =
    platform_open(f->parent, width, height, form->plugin->name, &client);
  return w->screen && frame_resize(w->sheet, width, height);
}

static LV2UI_Handle
instantiate(const LV2UI_Descriptor*   descriptor,
            const char*               plugin_uri,
            const char*               bundle_path,
            LV2UI_Write_Function      write,
            LV2UI_Controller          controller,
            LV2UI_Widget*             widget,
            const LV2_Feature* const* list)
{
  (void)descriptor;
  plugin_form    form;
  const features f = read_features(list);
  window* const w = find_form(plugin_uri, &form) ? calloc(1, sizeof(*w)) : NULL;
  if (!w) {
    return NULL;
  }
  w->write      = write;
  w->controller = controller;
  w->touch      = f.touch;
  w->resize     = f.resize;
  w->bundle     = bundle_path && *bundle_path ? strdup(bundle_path) : NULL;
  find_ports(w, form.plugin, f.port_map);
  if (!open_window(w, &form, &f)) {
    cleanup(w);
    return NULL;
  }
  // NOLINTNEXTLINE(performance-no-int-to-ptr): a window's id travels so
  *widget = (LV2UI_Widget)platform_window(w->screen);
  if (w->resize && w->resize->ui_resize) {
    int width  = 0;
    int height = 0;
    frame_wanted_size(w->sheet, &width, &height);
    (void)w->resize->ui_resize(w->resize->handle, width, height);
  }
  return w;
}

static void
port_event(LV2UI_Handle handle,
           uint32_t     port,
           uint32_t     size,
           uint32_t     protocol,
           const void*  data)
{
  window* const w     = handle;
  float         value = 0;
  if (protocol != FLOAT_PROTOCOL || size != sizeof(value)) {
    return;
  }
  memcpy(&value, data, sizeof(value));
  for (uint32_t i = 0; i < w->n_params; ++i) {
    if (w->param_port[i] == port) {
      frame_take_param(w->sheet, i, value);
      return;
    }
  }
  for (uint32_t i = 0; i < w->n_meters; ++i) {
    if (w->meter_port[i] == port) {
      frame_take_meter(w->sheet, i, value);
      return;
    }
  }
}

static int
idle(LV2UI_Handle handle)
{
  window* const w = handle;
  if (w->is_gone || !platform_events(w->screen)) {
    w->is_gone = true;
    return 1;
  }
  window_clipboard_idle(&w->board, w->sheet);
  frame_tick(w->sheet, platform_now_s());
  if (platform_is_visible(w->screen)) {
    platform_box          boxes[MAX_BOXES];
    uint32_t              n = 0;
    const platform_pixels p = frame_paint(w->sheet, boxes, MAX_BOXES, &n);
    platform_put(w->screen, &p, boxes, n);
  }
  return 0;
}

/// The host has another size for the window
static int
resize(LV2UI_Feature_Handle handle, int width, int height)
{
  window* const w = handle;
  if (width <= 0 || height <= 0) {
    return 1;
  }
  platform_resize(w->screen, width, height);
  return 0;
}

static const void*
extension_data(const char* uri)
{
  static const LV2UI_Idle_Interface idle_interface   = {idle};
  static const LV2UI_Resize         resize_interface = {NULL, resize};
  return !strcmp(uri, LV2_UI__idleInterface) ? (const void*)&idle_interface
         : !strcmp(uri, LV2_UI__resize)      ? (const void*)&resize_interface
                                             : NULL;
}

LV2_SYMBOL_EXPORT const LV2UI_Descriptor*
lv2ui_descriptor(uint32_t index)
{
  static const LV2UI_Descriptor d = {
    .URI            = SHELL_URI_PREFIX "window",
    .instantiate    = instantiate,
    .cleanup        = cleanup,
    .port_event     = port_event,
    .extension_data = extension_data,
  };
  return index == 0 ? &d : NULL;
}
