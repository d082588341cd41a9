// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Shows one window with the demo's rhythm guitar playing through its plugin,
/// on a clock without sound; or draws it into a PNG, without a display:
///
///   show MODULE [--shot FILE] [--pointer SYMBOL] STEM [CONTROL=VALUE]...
///   show MODULE --cost SECONDS STEM [CONTROL=VALUE]...
///
/// The last measures how long the window takes to open, and what it alone takes
/// of a core, with playing and then with silence.

#include "playing.h"

#include "plugins/window/frame.h"

#include <lv2/ui/ui.h>

#include <cairo.h>
#include <dlfcn.h>
#include <stdio.h>
#include <time.h>

#define SHOT_S 14.0 ///< Played before the picture: all histories are full

enum {
  PICTURE_WAITS = 2000,
  MAX_BOXES     = 64,
  HZ            = 30, ///< So often hosts call
  BEFORE_S      = 5,  ///< Not measured
  OPENINGS      = 20,
};

typedef struct {
  const char* module;
  const char* shot;
  const char* pointer;
  int         cost_s; ///< 0: does not measure
  const char* stem;
  char**      settings;
  int         n_settings;
} choices;

static int
complain(const char* what, const char* which)
{
  fprintf(stderr, "window: %s%s\n", what, which);
  return 1;
}

static bool
take_settings(playing* y, const choices* c)
{
  for (int i = 0; i < c->n_settings; ++i) {
    char* const word  = c->settings[i];
    char* const value = strchr(word, '=');
    char*       end   = NULL;
    int         port  = -1;
    float       x     = 0.0F;
    if (value) {
      *value = '\0';
      port   = shell_port(y->form.plugin, word);
      x      = strtof(value + 1, &end);
      *value = '=';
    }
    if (port < 0 || port >= (int)y->n_params || !value[1] || *end) {
      fprintf(stderr,
              "window: %s: expected CONTROL=VALUE of %s, options before "
              "it\n",
              word, c->stem);
      return false;
    }
    y->port[port] = x;
  }
  return true;
}

static void
sleep_ms(long ms)
{
  const struct timespec t = {ms / 1000, ms % 1000 * 1000000L};
  (void)nanosleep(&t, NULL);
}

// ---------------------------------------------------------------------------
// Into a file

static void
ignore_write(void* handle, uint32_t param, float value)
{
  (void)handle;
  (void)param;
  (void)value;
}

static void
hand_over(playing* y, frame* f, double now_s)
{
  playing_run(y);
  for (uint32_t i = 0; i < y->n_params; ++i) {
    frame_take_param(f, i, y->port[i]);
  }
  for (uint32_t i = 0; i < y->n_meters; ++i) {
    frame_take_meter(f, i, y->port[y->n_params + i]);
  }
  frame_tick(f, now_s);
}

/// Points at a control, or opens the menu ("setup")
static void
point_at(frame* f, const plugin* p, const char* symbol)
{
  window_event e     = {.kind = EVENT_MOVE};
  double       x1    = 0;
  const int    param = shell_port(p, symbol);
  if (frame_word_of(f, symbol, &e.x, &e.y)) {
    e.kind = EVENT_PRESS;
    (void)frame_event(f, &e);
    e.kind = EVENT_RELEASE;
  } else if (param < 0 ||
             !frame_scale_of(f, (uint32_t)param, &e.x, &x1, &e.y)) {
    return;
  }
  e.x += 2;
  (void)frame_event(f, &e);
}

static int
write_png(const platform_pixels* p, const char* path)
{
  cairo_surface_t* const s = cairo_image_surface_create_for_data(
    p->data, CAIRO_FORMAT_RGB24, p->width, p->height, p->stride);
  const cairo_status_t status = cairo_surface_write_to_png(s, path);
  cairo_surface_destroy(s);
  return status ? complain(path, ": cannot be written") : 0;
}

/// Where the bundle is
static const char*
folder_of(const char* module)
{
  static char       folder[4096];
  const char* const slash = strrchr(module, '/');
  (void)snprintf(folder, sizeof(folder), "%.*s",
                 slash ? (int)(slash - module) : 1, slash ? module : ".");
  return folder;
}

static int
shoot(playing* y, const choices* c)
{
  const frame_host host  = {.write  = ignore_write,
                            .setups = folder_of(c->module)};
  const prefs_host prefs = {0};
  frame* const     f     = frame_new(&y->form, &host, &prefs);
  platform_box     boxes[MAX_BOXES];
  uint32_t         n      = 0;
  int              width  = 0;
  int              height = 0;
  double           now_s  = 0;
  if (!f) {
    return complain("no memory", "");
  }
  frame_wanted_size(f, &width, &height);
  (void)frame_resize(f, width, height);
  for (; now_s < SHOT_S; now_s += 1.0 / 30) {
    hand_over(y, f, now_s);
  }
  for (int i = 0; i < PICTURE_WAITS && !frame_is_settled(f); ++i) {
    sleep_ms(5);
    now_s += 0.005; // What was given up is tried again after a while
    frame_tick(f, now_s);
  }
  (void)frame_paint(f, boxes, MAX_BOXES, &n);
  if (c->pointer) {
    point_at(f, y->form.plugin, c->pointer);
  }
  const platform_pixels p      = frame_paint(f, boxes, MAX_BOXES, &n);
  const int             status = write_png(&p, c->shot);
  frame_free(f);
  return status;
}

// ---------------------------------------------------------------------------
// On the screen

static void
on_write(LV2UI_Controller controller,
         uint32_t         port,
         uint32_t         size,
         uint32_t         protocol,
         const void*      value)
{
  playing* const y = controller;
  (void)size;
  if (protocol == 0 && port < y->n_params) {
    memcpy(&y->port[port], value, sizeof(float));
  }
}

static uint32_t
port_index(LV2UI_Feature_Handle handle, const char* symbol)
{
  const playing* const y    = handle;
  const int            port = shell_port(y->form.plugin, symbol);
  return port < 0 ? LV2UI_INVALID_PORT_INDEX : (uint32_t)port;
}

/// Plays and idles until the window is closed
static void
run_window(playing*                    y,
           const LV2UI_Descriptor*     d,
           LV2UI_Handle                ui,
           const LV2UI_Idle_Interface* idler)
{
  while (!idler->idle(ui)) {
    playing_run(y);
    for (uint32_t i = 0; i < y->n_params + y->n_meters; ++i) {
      d->port_event(ui, i, sizeof(float), 0, &y->port[i]);
    }
    sleep_ms(33);
  }
}

static double
clock_s(clockid_t id)
{
  struct timespec t;
  (void)clock_gettime(id, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// A host's tick; returns what it takes of this thread
static double
tick_s(const playing*              y,
       const LV2UI_Descriptor*     d,
       LV2UI_Handle                ui,
       const LV2UI_Idle_Interface* idler)
{
  const double from_s = clock_s(CLOCK_THREAD_CPUTIME_ID);
  for (uint32_t i = 0; i < y->n_params + y->n_meters; ++i) {
    d->port_event(ui, i, sizeof(float), 0, &y->port[i]);
  }
  (void)idler->idle(ui);
  return clock_s(CLOCK_THREAD_CPUTIME_ID) - from_s;
}

/// Prints what the window takes of a core, without the plugin: this thread's
/// share, and that of the whole process, where figures are computed beside it
static void
measure(playing*                    y,
        const LV2UI_Descriptor*     d,
        LV2UI_Handle                ui,
        const LV2UI_Idle_Interface* idler,
        int                         seconds)
{
  const int n_before = HZ * BEFORE_S; // Opening, and meters that fall
  for (int silent = 0; silent < 2; ++silent) {
    double spent_s  = 0;
    double most_s   = 0;
    double plugin_s = 0;
    double from_s   = 0;
    if (silent) {
      memset(y->take, 0, y->n_take * sizeof(float));
    }
    for (int n = 0; n < n_before + HZ * seconds; ++n) {
      if (n == n_before) {
        spent_s = most_s = plugin_s = 0;
        from_s                      = clock_s(CLOCK_PROCESS_CPUTIME_ID);
      }
      const double before_s = clock_s(CLOCK_THREAD_CPUTIME_ID);
      playing_run(y);
      plugin_s += clock_s(CLOCK_THREAD_CPUTIME_ID) - before_s;
      const double took_s = tick_s(y, d, ui, idler);
      spent_s += took_s;
      most_s = took_s > most_s ? took_s : most_s;
      sleep_ms(1000 / HZ);
    }
    const double all_s = clock_s(CLOCK_PROCESS_CPUTIME_ID) - from_s - plugin_s;
    printf("%-16s %s: %.2f %% of a core, with all else %.2f; most %.1f ms at "
           "once\n",
           y->form.plugin->stem, silent ? "silent " : "playing",
           100 * spent_s / seconds, 100 * all_s / seconds, 1000 * most_s);
  }
}

static LV2UI_Handle
instantiate(playing* y, const choices* c, const LV2UI_Descriptor* d)
{
  LV2UI_Port_Map           map    = {y, port_index};
  const LV2_Feature        ports  = {LV2_UI__portMap, &map};
  const LV2_Feature* const list[] = {&ports, NULL};
  LV2UI_Widget             widget = NULL;
  return d->instantiate(d, y->form.uri, folder_of(c->module), on_write, y,
                        &widget, list);
}

/// Prints the time until the first picture is shown: of the first opening, the
/// quickest and the slowest of those after
static void
measure_openings(playing* y, const choices* c, const LV2UI_Descriptor* d)
{
  const LV2UI_Idle_Interface* const idler =
    d->extension_data(LV2_UI__idleInterface);
  double first_ms = 0;
  double least_ms = 1e9;
  double most_ms  = 0;
  for (int i = 0; i <= OPENINGS; ++i) {
    const double from_s = clock_s(CLOCK_MONOTONIC);
    LV2UI_Handle ui     = instantiate(y, c, d);
    if (!ui) {
      return; // Said by whoever opens the next
    }
    (void)idler->idle(ui);
    const double took_ms = 1000 * (clock_s(CLOCK_MONOTONIC) - from_s);
    d->cleanup(ui);
    if (i == 0) {
      first_ms = took_ms;
    } else {
      least_ms = took_ms < least_ms ? took_ms : least_ms;
      most_ms  = took_ms > most_ms ? took_ms : most_ms;
    }
  }
  printf("%-16s opening: %.0f ms, then %.0f to %.0f\n", y->form.plugin->stem,
         first_ms, least_ms, most_ms);
}

static int
open_window(playing* y, const choices* c)
{
  void* const module = dlopen(c->module, RTLD_NOW | RTLD_LOCAL);
  if (!module) {
    return complain("cannot load ", c->module);
  }
  LV2UI_DescriptorFunction find   = NULL;
  void* const              symbol = dlsym(module, "lv2ui_descriptor");
  memcpy(&find, &symbol, sizeof(find)); // POSIX allows what ISO C does not
  const LV2UI_Descriptor* const d = find ? find(0) : NULL;
  if (!d) {
    return complain("no window in ", c->module);
  }
  if (c->cost_s > 0) {
    measure_openings(y, c, d);
  }
  LV2UI_Handle ui = instantiate(y, c, d);
  if (!ui) {
    return complain("cannot open a window; DISPLAY is ",
                    getenv("DISPLAY") ? getenv("DISPLAY") : "not set");
  }
  const LV2UI_Idle_Interface* const idler =
    d->extension_data(LV2_UI__idleInterface);
  if (c->cost_s > 0) {
    measure(y, d, ui, idler, c->cost_s);
  } else {
    run_window(y, d, ui, idler);
  }
  d->cleanup(ui);
  return 0;
}

static bool
read_arguments(int argc, char** argv, choices* c)
{
  int i     = 2;
  c->module = argc > 1 ? argv[1] : NULL;
  for (; i + 1 < argc && !strncmp(argv[i], "--", 2); i += 2) {
    if (!strcmp(argv[i], "--shot")) {
      c->shot = argv[i + 1];
    } else if (!strcmp(argv[i], "--pointer")) {
      c->pointer = argv[i + 1];
    } else if (!strcmp(argv[i], "--cost")) {
      c->cost_s = (int)strtol(argv[i + 1], NULL, 10);
    } else {
      return false;
    }
  }
  c->stem       = i < argc ? argv[i] : NULL;
  c->settings   = argv + i + 1;
  c->n_settings = argc - i - 1;
  return c->stem != NULL && strncmp(c->stem, "--", 2) != 0;
}

int
main(int argc, char** argv)
{
  static playing y;
  choices        c = {0};
  plugin_form    form;
  if (!read_arguments(argc, argv, &c)) {
    fprintf(stderr, "usage: window [--shot FILE] [--pointer SYMBOL] "
                    "[--cost SECONDS] STEM [CONTROL=VALUE]...\n");
    return 2;
  }
  if (!playing_find(c.stem, &form)) {
    return complain("no plugin has the stem ", c.stem);
  }
  if (!playing_start(&y, &form)) {
    return complain("no memory", "");
  }
  const int status = !take_settings(&y, &c) ? 2
                     : c.shot               ? shoot(&y, &c)
                                            : open_window(&y, &c);
  playing_stop(&y);
  return status;
}
