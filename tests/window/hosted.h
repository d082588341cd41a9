// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The built module as a host has it, on a real display.  For the one source
/// file of a test.
///
///   WINDOW_MODULE  the built module

#ifndef TESTS_WINDOW_HOSTED_H
#define TESTS_WINDOW_HOSTED_H

#include "tests/support/check.h"

#include "fontconfig_leaks.h"
#include "playing.h"

#include <X11/Xlib.h>
#include <X11/Xutil.h>
#include <X11/keysym.h>
#include <lv2/ui/ui.h>

#include <dlfcn.h>
#include <stdio.h>
#include <time.h>

enum { WIDTH = 760, HEIGHT = 480 };

/// One window in one of the host's
typedef struct {
  const LV2UI_Descriptor*     d;
  const LV2UI_Idle_Interface* idler;
  LV2UI_Handle                ui;
  LV2UI_Widget                widget;
  Window                      parent;
  plugin_form                 form;
  char                        log[4096];
  int                         width, height;
  LV2UI_Touch                 touch; ///< What it hands out, for as long
  LV2UI_Resize                resize;
} hosted;

static Display* display; ///< The host's connection
static int      n_errors;

static inline int
count_error(Display* d, XErrorEvent* e)
{
  (void)d;
  (void)e;
  ++n_errors;
  return 0;
}

static inline const LV2UI_Descriptor*
load_module(void)
{
  void* const              module = dlopen(WINDOW_MODULE, RTLD_NOW);
  LV2UI_DescriptorFunction find   = NULL;
  assert_non_null(module);
  void* const symbol = dlsym(module, "lv2ui_descriptor");
  assert_non_null(symbol);
  memcpy(&find, &symbol, sizeof(find));
  assert_null(find(1));
  return find(0);
}

// ---------------------------------------------------------------------------
// The host

static inline void
on_write(LV2UI_Controller controller,
         uint32_t         port,
         uint32_t         size,
         uint32_t         protocol,
         const void*      value)
{
  hosted* const h = controller;
  const size_t  n = strlen(h->log);
  float         x = 0;
  assert_int_equal(size, sizeof(float));
  assert_int_equal(protocol, 0);
  memcpy(&x, value, sizeof(x));
  (void)snprintf(h->log + n, sizeof(h->log) - n, "%s=%g ",
                 shell_param(h->form.plugin, port)->symbol, (double)x);
}

static inline void
on_touch(LV2UI_Feature_Handle handle, uint32_t port, bool is_held)
{
  hosted* const h = handle;
  const size_t  n = strlen(h->log);
  (void)snprintf(h->log + n, sizeof(h->log) - n, "%c%s ", is_held ? '+' : '-',
                 shell_param(h->form.plugin, port)->symbol);
}

static inline uint32_t
port_index(LV2UI_Feature_Handle handle, const char* symbol)
{
  const hosted* const h    = handle;
  const int           port = shell_port(h->form.plugin, symbol);
  return port < 0 ? LV2UI_INVALID_PORT_INDEX : (uint32_t)port;
}

static inline int
on_resize(LV2UI_Feature_Handle handle, int width, int height)
{
  hosted* const h = handle;
  h->width        = width;
  h->height       = height;
  return 0;
}

static inline bool
host_open(hosted* h, const plugin_form* form)
{
  memset(h, 0, sizeof(*h));
  h->d      = load_module();
  h->form   = *form;
  h->parent = XCreateSimpleWindow(display, DefaultRootWindow(display), 0, 0,
                                  WIDTH, HEIGHT, 0, 0, 0);
  XMapWindow(display, h->parent);
  XSync(display, False);

  h->touch                        = (LV2UI_Touch){h, on_touch};
  h->resize                       = (LV2UI_Resize){h, on_resize};
  LV2UI_Port_Map           map    = {h, port_index};
  const LV2_Feature        parent = {LV2_UI__parent, (void*)h->parent};
  const LV2_Feature        grips  = {LV2_UI__touch, &h->touch};
  const LV2_Feature        ports  = {LV2_UI__portMap, &map};
  const LV2_Feature        sizes  = {LV2_UI__resize, &h->resize};
  const LV2_Feature* const list[] = {&parent, &grips, &ports, &sizes, NULL};
  h->ui = h->d->instantiate(h->d, form->uri, "", on_write, h, &h->widget, list);
  h->idler = h->d->extension_data(LV2_UI__idleInterface);
  return h->ui != NULL;
}

static inline void
host_idle(hosted* h, int times)
{
  const struct timespec wait = {0, 2000000};
  for (int i = 0; i < times; ++i) {
    (void)nanosleep(&wait, NULL);
    assert_int_equal(h->idler->idle(h->ui), 0);
  }
}

static inline void
host_close(hosted* h)
{
  h->d->cleanup(h->ui);
  XDestroyWindow(display, h->parent);
  XSync(display, False);
}

static inline plugin_form
form_of(const char* name)
{
  plugin_form form;
  assert_true(playing_find(name, &form));
  return form;
}

#endif // TESTS_WINDOW_HOSTED_H
