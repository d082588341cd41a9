// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The built module in a host that offers the least, and under events that no
/// window manager sends

#include "hosted.h"

enum { EVENTS = 3000 };

/// What LV2's specification lets a host leave out: all but the parent
static bool
host_open_plain(hosted* h, const char* name)
{
  memset(h, 0, sizeof(*h));
  h->d      = load_module();
  h->form   = form_of(name);
  h->parent = XCreateSimpleWindow(display, DefaultRootWindow(display), 0, 0,
                                  WIDTH, HEIGHT, 0, 0, 0);
  XMapWindow(display, h->parent);
  XSync(display, False);
  const LV2_Feature        parent = {LV2_UI__parent, (void*)h->parent};
  const LV2_Feature* const list[] = {&parent, NULL};
  h->ui =
    h->d->instantiate(h->d, h->form.uri, "", on_write, h, &h->widget, list);
  h->idler = h->d->extension_data(LV2_UI__idleInterface);
  return h->ui != NULL;
}

static void
send(hosted* h, XEvent* e)
{
  e->xany.window = (Window)h->widget;
  XSendEvent(display, (Window)h->widget, False, NoEventMask, e);
  XSync(display, False);
}

static void
press(hosted* h, int x, int y, bool is_down)
{
  XEvent e = {.xbutton = {.type        = is_down ? ButtonPress : ButtonRelease,
                          .x           = x,
                          .y           = y,
                          .button      = Button1,
                          .same_screen = True}};
  send(h, &e);
  host_idle(h, 3);
}

static void
key(hosted* h, KeySym sym, unsigned state)
{
  XEvent e = {.xkey = {.type        = KeyPress,
                       .keycode     = XKeysymToKeycode(display, sym),
                       .state       = state,
                       .same_screen = True}};
  send(h, &e);
  host_idle(h, 3);
}

/// Types a value into Drive, the first row of the first column
static void
type_drive(hosted* h)
{
  press(h, 100, 327, true);
  press(h, 100, 327, false);
  h->log[0] = '\0';
  key(h, XK_3, 0);
  key(h, XK_0, 0);
  key(h, XK_Return, 0);
}

static void
a_parent_is_enough(void** state)
{
  static hosted h;
  const float   drive_db = 12;
  (void)state;
  assert_true(host_open_plain(&h, "tube-stage"));
  host_idle(&h, 5);
  // Ports by the tables, where the host has no map: drive is read, then written
  h.d->port_event(h.ui, (uint32_t)shell_port(h.form.plugin, "drive_db"),
                  sizeof(drive_db), 0, &drive_db);
  host_idle(&h, 5);
  type_drive(&h);
  assert_string_equal(h.log, "drive_db=30 "); // No touches
  h.log[0] = '\0';
  key(&h, XK_z, ControlMask);
  assert_string_equal(h.log, "drive_db=12 ");
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

/// Values of other protocols and sizes, and of ports that there are not, are
/// none of ours
static void
strange_values_are_left(void** state)
{
  static hosted  h;
  const float    value   = 12;
  const double   wide    = 12;
  const uint32_t ports[] = {1000, LV2UI_INVALID_PORT_INDEX};
  (void)state;
  assert_true(host_open_plain(&h, "tube-stage"));
  const uint32_t drive = (uint32_t)shell_port(h.form.plugin, "drive_db");
  h.d->port_event(h.ui, drive, sizeof(value), 7, &value);
  h.d->port_event(h.ui, drive, sizeof(wide), 0, &wide);
  for (size_t i = 0; i < sizeof(ports) / sizeof(ports[0]); ++i) {
    h.d->port_event(h.ui, ports[i], sizeof(value), 0, &value);
  }
  type_drive(&h);
  h.log[0] = '\0';
  key(&h, XK_z, ControlMask);
  assert_string_equal(h.log, "drive_db=18 "); // Its default, still
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

// ---------------------------------------------------------------------------
// Events

static uint32_t seed = 7;

static uint32_t
chance(uint32_t n)
{
  seed = seed * 1664525U + 1013904223U; // Numerical Recipes, from memory
  return (seed >> 8U) % n;
}

/// Any event of the core protocol with anything in it, but the one that says
/// the window is gone
static XEvent
any_event(void)
{
  XEvent         e;
  unsigned char* byte = (unsigned char*)&e;
  for (size_t i = 0; i < sizeof(e); ++i) {
    byte[i] = chance(3) ? 0 : (unsigned char)chance(256);
  }
  do {
    e.type = KeyPress + (int)chance(MappingNotify - KeyPress + 1);
  } while (e.type == DestroyNotify);
  if (e.type == ConfigureNotify) { // No picture as large as memory
    e.xconfigure.width  = (int)chance(1300) - 50;
    e.xconfigure.height = (int)chance(900) - 50;
  } else if (e.type == ClientMessage) {
    e.xclient.format       = 32;
    e.xclient.message_type = chance(4) ? chance(80) : 4000000;
  } else if (e.type >= KeyPress && e.type <= MotionNotify && chance(4)) {
    e.xkey.x       = (int)chance(WIDTH);
    e.xkey.y       = (int)chance(HEIGHT);
    e.xkey.keycode = e.type > KeyRelease ? 1 + chance(5) : 8 + chance(248);
    e.xkey.state   = chance(2) ? 0 : chance(16);
  }
  return e;
}

static void
any_events_do_no_harm(void** state)
{
  static hosted h;
  bool          is_written = false;
  (void)state;
  assert_true(host_open_plain(&h, "tube-stage"));
  for (int i = 0; i < EVENTS; ++i) {
    XEvent e = any_event();
    send(&h, &e);
    if (chance(3) == 0) {
      assert_int_equal(h.idler->idle(h.ui), 0);
    }
    is_written = is_written || *h.log;
    h.log[0]   = '\0';
  }
  assert_true(is_written);
  host_close(&h);
  // The next window is as new
  assert_true(host_open_plain(&h, "tube-stage"));
  host_idle(&h, 5);
  type_drive(&h);
  assert_string_equal(h.log, "drive_db=30 ");
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

static int
connect(void** state)
{
  (void)state;
  display = XOpenDisplay(NULL);
  XSetErrorHandler(count_error);
  return display ? 0 : 1;
}

static int
disconnect(void** state)
{
  (void)state;
  return XCloseDisplay(display);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_parent_is_enough),
    cmocka_unit_test(strange_values_are_left),
    cmocka_unit_test(any_events_do_no_harm),
  };
  return cmocka_run_group_tests_name("odd-hosts", tests, connect, disconnect);
}
