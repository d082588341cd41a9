// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The built module as a host has it, on a real display: opens for all forms,
/// hears the pointer and keys, lives and dies in any order, and loses nothing

#include "hosted.h"

#include <unistd.h>

static const char* self; ///< The path of this program

enum { SIDE_BY_SIDE = 4, ROUNDS = 50, WARM = 10 };

// ---------------------------------------------------------------------------

static uint32_t
count_colours(Window w)
{
  uint32_t      seen[64];
  uint32_t      n = 0;
  XImage* const image =
    XGetImage(display, w, 0, 0, WIDTH, HEIGHT, AllPlanes, ZPixmap);
  assert_non_null(image);
  for (int y = 0; y < HEIGHT; y += 2) {
    for (int x = 0; x < WIDTH; x += 2) {
      const uint32_t rgb = (uint32_t)XGetPixel(image, x, y);
      uint32_t       k   = 0;
      while (k < n && seen[k] != rgb) {
        ++k;
      }
      if (k == n && n < 64) {
        seen[n++] = rgb;
      }
    }
  }
  XDestroyImage(image);
  return n;
}

static void
all_forms_open_and_show_themselves(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      static hosted     h;
      const plugin_form form = shell_form(p, i);
      assert_true(host_open(&h, &form));
      assert_int_equal(h.width, WIDTH);
      assert_int_equal(h.height, HEIGHT);
      host_idle(&h, 5);
      assert_true(count_colours((Window)h.widget) > 10);
      host_close(&h);
    }
  }
  assert_int_equal(n_errors, 0);
}

static void
send(hosted* h, XEvent* e, long mask)
{
  e->xany.window = (Window)h->widget;
  XSendEvent(display, (Window)h->widget, False, mask, e);
  XSync(display, False);
  host_idle(h, 3);
}

static void
press(hosted* h, int x, int y, unsigned button, bool is_down)
{
  XEvent e = {.xbutton = {.type        = is_down ? ButtonPress : ButtonRelease,
                          .x           = x,
                          .y           = y,
                          .button      = button,
                          .same_screen = True}};
  send(h, &e, is_down ? ButtonPressMask : ButtonReleaseMask);
}

static void
move(hosted* h, int x, int y)
{
  XEvent e = {.xmotion = {.type = MotionNotify, .x = x, .y = y}};
  send(h, &e, PointerMotionMask);
}

static void
key_with(hosted* h, KeySym sym, unsigned state)
{
  XEvent e = {.xkey = {.type        = KeyPress,
                       .keycode     = XKeysymToKeycode(display, sym),
                       .state       = state,
                       .same_screen = True}};
  send(h, &e, KeyPressMask);
}

static void
key(hosted* h, KeySym sym)
{
  key_with(h, sym, 0);
}

static void
pointer_and_keys_arrive(void** state)
{
  static hosted     h;
  const plugin_form form = form_of("tube-stage");
  (void)state;
  assert_true(host_open(&h, &form));
  host_idle(&h, 5);
  // Drive: the first row of the first column, on its scale
  press(&h, 100, 327, Button1, true);
  move(&h, 123, 327); // A tenth of 226 px: 6 dB
  press(&h, 123, 327, Button1, false);
  assert_true(strncmp(h.log, "+drive_db drive_db=24", 21) == 0);
  assert_true(strstr(h.log, " -drive_db ") != NULL);
  h.log[0] = '\0';
  key(&h, XK_3);
  key(&h, XK_0);
  key(&h, XK_Return);
  assert_string_equal(h.log, "+drive_db drive_db=30 -drive_db ");
  h.log[0] = '\0';
  press(&h, 100, 358, Button4, true);
  host_idle(&h, 200); // Its gesture ends by itself
  assert_string_equal(h.log, "+bright_db bright_db=2.5 -bright_db ");
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

static void
memories_and_menus_arrive(void** state)
{
  static hosted     h;
  const plugin_form form = form_of("tube-stage");
  (void)state;
  assert_true(host_open(&h, &form));
  host_idle(&h, 5);
  key_with(&h, XK_b, ControlMask); // B
  press(&h, 100, 327, Button1, true);
  press(&h, 100, 327, Button1, false);
  key(&h, XK_3);
  key(&h, XK_0);
  key(&h, XK_Return);
  h.log[0] = '\0';
  key_with(&h, XK_b, ControlMask); // A
  assert_non_null(strstr(h.log, "+drive_db drive_db=18 -drive_db "));
  key_with(&h, XK_b, ControlMask);
  // The menu of the row: by Shift and F10, by its key, and by the other button
  for (int i = 0; i < 3; ++i) {
    h.log[0] = '\0';
    if (i < 2) {
      key_with(&h, i ? XK_Menu : XK_F10, i ? 0 : ShiftMask);
    } else {
      press(&h, 100, 327, Button3, true);
    }
    key(&h, XK_Return); // default
    assert_string_equal(h.log, "+drive_db drive_db=18 -drive_db ");
    key_with(&h, XK_z, ControlMask);
  }
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

/// The host says what it has
static void
tell(hosted* h, const char* symbol, float value)
{
  const int port = shell_port(h->form.plugin, symbol);
  h->d->port_event(h->ui, (uint32_t)port, sizeof(value), 0, &value);
  host_idle(h, 3);
}

static void
the_past_survives_the_window(void** state)
{
  static hosted     h;
  const plugin_form form = form_of("tube-stage");
  (void)state;
  for (int i = 0; i < 3; ++i) {
    assert_true(host_open(&h, &form));
    tell(&h, "drive_db", i == 1 ? 30 : 18);
    tell(&h, "window_mark", 4711);
    if (i == 0) {
      press(&h, 100, 327, Button1, true);
      press(&h, 100, 327, Button1, false);
      key(&h, XK_3);
      key(&h, XK_0);
      key(&h, XK_Return);
      assert_string_equal(h.log, "+drive_db drive_db=30 -drive_db ");
    } else {
      key_with(&h, XK_z, ControlMask | (i == 2 ? ShiftMask : 0));
      assert_string_equal(h.log, i == 1 ? "+drive_db drive_db=18 -drive_db "
                                        : "+drive_db drive_db=30 -drive_db ");
    }
    host_close(&h);
  }
  assert_int_equal(n_errors, 0);
}

/// Opens a window of a tube stage that is in group P of a song
static void
open_member(hosted* h, float song, float drive_db)
{
  const plugin_form form = form_of("tube-stage");
  assert_true(host_open(h, &form));
  tell(h, "drive_db", drive_db);
  tell(h, "group_mark", song);
  tell(h, "group", 1);
  host_idle(h, 150); // It reads the group's past
  h->log[0] = '\0';
}

/// Drags the drive by 6 dB
static void
drag_drive(hosted* h)
{
  press(h, 100, 327, Button1, true);
  move(h, 123, 327);
  press(h, 123, 327, Button1, false);
}

static void
windows_of_one_process_move_together(void** state)
{
  static hosted a;
  static hosted b;
  (void)state;
  open_member(&a, 815, 18);
  open_member(&b, 815, 24);
  drag_drive(&a);
  host_idle(&b, 5);
  assert_int_equal(strncmp(a.log, "+drive_db drive_db=24", 21), 0);
  assert_int_equal(strncmp(b.log, "+drive_db drive_db=30", 21), 0);
  assert_non_null(strstr(b.log, " -drive_db "));
  host_close(&a);
  host_close(&b);
  assert_int_equal(n_errors, 0);
}

/// The other process: shows a window until it has followed.  Returns 0 then.
static int
follow_elsewhere(void)
{
  static hosted h;
  display = XOpenDisplay(NULL);
  if (!display) {
    return 1;
  }
  open_member(&h, 816, 30);
  (void)puts("ready");
  (void)fflush(stdout);
  // Long enough for a first host that runs under valgrind
  for (int i = 0; i < 3000 && !strstr(h.log, " -drive_db "); ++i) {
    host_idle(&h, 10);
  }
  const bool has_followed = !strncmp(h.log, "+drive_db drive_db=36", 21);
  host_close(&h);
  return has_followed ? 0 : 2;
}

static void
windows_of_two_processes_move_together(void** state)
{
  static hosted a;
  char          said[16] = "";
  (void)state;
  // This program again, as the other host: it ends by itself.  Under valgrind
  // /proc/PID/exe would be valgrind.
  char command[4200];
  assert_in_range(snprintf(command, sizeof(command), "exec '%s' follow", self),
                  1, sizeof(command) - 1);
  FILE* const other = popen(command, "r");
  assert_non_null(other);
  assert_non_null(fgets(said, sizeof(said), other));
  open_member(&a, 816, 18);
  drag_drive(&a);
  assert_int_equal(pclose(other), 0);
  host_close(&a);
  assert_int_equal(n_errors, 0);
}

/// Plays to a window of row 3 until its host has heard something
static bool
play_until(hosted* h, const char* heard)
{
  for (int i = 0; i < 1000 && !strstr(h->log, heard); ++i) {
    tell(h, "in_db", i % 2 ? -18.0F : -18.1F);
    host_idle(h, 2);
  }
  return strstr(h->log, heard) != NULL;
}

static void
open_in_row(hosted* h, const char* stem)
{
  const plugin_form form = form_of(stem);
  assert_true(host_open(h, &form));
  tell(h, "match_db", 1.5F);
  tell(h, "row", 4711 * 8 + 2);
  host_idle(h, 10);
  h->log[0] = '\0';
}

/// The other process: a window that is turned off and on again
static int
turn_elsewhere(void)
{
  static hosted h;
  display = XOpenDisplay(NULL);
  if (!display) {
    return 1;
  }
  open_in_row(&h, "air-shelf");
  (void)puts("ready");
  (void)fflush(stdout);
  const bool has_turned =
    play_until(&h, "+match_bypass match_bypass=1 -match_bypass ") &&
    play_until(&h, "+enabled enabled=0 -enabled +enabled enabled=1 ");
  host_close(&h);
  return has_turned ? 0 : 2;
}

static void
a_row_of_two_processes_turns(void** state)
{
  static hosted a;
  char          said[16] = "";
  (void)state;
  FILE* const other = popen("exec /proc/$PPID/exe row", "r");
  assert_non_null(other);
  assert_non_null(fgets(said, sizeof(said), other));
  open_in_row(&a, "tube-stage");
  key_with(&a, XK_r, ControlMask);
  assert_true(play_until(&a, "+enabled enabled=0 -enabled "));
  host_idle(&a, 30); // The other one answers
  key_with(&a, XK_r, ControlMask);
  assert_true(play_until(&a, "+enabled enabled=1 -enabled "));
  assert_int_equal(pclose(other), 0);
  host_close(&a);
  assert_int_equal(n_errors, 0);
}

static void
the_host_resizes(void** state)
{
  static hosted             h;
  const plugin_form         form = form_of("air-shelf");
  const LV2UI_Resize* const resize =
    load_module()->extension_data(LV2_UI__resize);
  XWindowAttributes a;
  (void)state;
  assert_true(host_open(&h, &form));
  assert_int_equal(resize->ui_resize(h.ui, 900, 600), 0);
  host_idle(&h, 5);
  assert_true(XGetWindowAttributes(display, (Window)h.widget, &a) != 0);
  assert_int_equal(a.width, 900);
  assert_int_equal(a.height, 600);
  XResizeWindow(display, (Window)h.widget, 427, 263); // Without asking
  XSync(display, False);
  host_idle(&h, 5);
  host_close(&h);
  assert_int_equal(n_errors, 0);
}

static void
a_host_may_destroy_the_parent_first(void** state)
{
  const plugin_form form = form_of("input-compressor");
  (void)state;
  for (int i = 0; i < ROUNDS; ++i) {
    static hosted h;
    assert_true(host_open(&h, &form));
    if (i % 2) {
      host_idle(&h, 3);
    }
    XDestroyWindow(display, h.parent);
    XSync(display, False);
    assert_int_not_equal(h.idler->idle(h.ui), 0);
    assert_int_not_equal(h.idler->idle(h.ui), 0);
    h.d->cleanup(h.ui);
  }
  assert_int_equal(n_errors, 0);
}

/// Returns the resident memory in KiB
static long
resident_kib(void)
{
  char        line[256];
  char*       second = NULL;
  FILE* const file   = fopen("/proc/self/statm", "r");
  assert_non_null(file);
  assert_non_null(fgets(line, sizeof(line), file));
  fclose(file);
  (void)strtol(line, &second, 10); // All of the memory
  const long pages = strtol(second, NULL, 10);
  return pages * (sysconf(_SC_PAGESIZE) / 1024);
}

static void
open_and_close(void)
{
  static hosted            h[SIDE_BY_SIDE];
  static const char* const stems[] = {"air-shelf", "input-compressor",
                                      "air-shelf-stereo", "bus-tone"};
  for (int i = 0; i < SIDE_BY_SIDE; ++i) {
    const plugin_form form = form_of(stems[i]);
    assert_true(host_open(&h[i], &form));
  }
  for (int i = 0; i < SIDE_BY_SIDE; ++i) {
    host_idle(&h[i], 2);
  }
  host_close(&h[1]); // The others live on
  for (int i = 0; i < SIDE_BY_SIDE; i += 2) {
    host_idle(&h[i], 1);
  }
  host_close(&h[3]);
  host_close(&h[0]);
  host_close(&h[2]);
}

static void
many_openings_lose_nothing(void** state)
{
  (void)state;
  for (int i = 0; i < WARM; ++i) {
    open_and_close();
  }
  const long before_kib = resident_kib();
  for (int i = 0; i < ROUNDS; ++i) {
    open_and_close();
  }
  // 200 windows: one leaked picture of 1.4 MiB would show at once
  assert_below((double)(resident_kib() - before_kib), 4096);
  assert_int_equal(n_errors, 0);
}

static void
without_a_display_there_is_no_window(void** state)
{
  const plugin_form             form   = form_of("air-shelf");
  const LV2UI_Descriptor* const d      = load_module();
  const LV2_Feature* const      list[] = {NULL};
  LV2UI_Widget                  widget = NULL;
  char                          was[64];
  (void)state;
  (void)snprintf(was, sizeof(was), "%s", getenv("DISPLAY"));
  assert_int_equal(unsetenv("DISPLAY"), 0);
  assert_null(d->instantiate(d, form.uri, "", on_write, NULL, &widget, list));
  assert_int_equal(setenv("DISPLAY", was, 1), 0);
  assert_null(
    d->instantiate(d, "urn:dustcap:none", "", on_write, NULL, &widget, list));
}

static void
key_with_ctrl(hosted* h, KeySym sym)
{
  XEvent e = {.xkey = {.type        = KeyPress,
                       .state       = ControlMask,
                       .keycode     = XKeysymToKeycode(display, sym),
                       .same_screen = True}};
  send(h, &e, KeyPressMask);
}

static void
copy_and_paste_go_from_window_to_window(void** state)
{
  static hosted     from;
  static hosted     to;
  const plugin_form form  = form_of("tube-stage");
  const float       drive = 31.25F;
  (void)state;
  assert_true(host_open(&from, &form));
  assert_true(host_open(&to, &form));
  from.d->port_event(from.ui, (uint32_t)shell_port(form.plugin, "drive_db"),
                     sizeof(drive), 0, &drive);
  host_idle(&from, 5);
  key_with_ctrl(&from, XK_c);
  key_with_ctrl(&to, XK_v);
  for (int i = 0; i < 200 && !to.log[0]; ++i) {
    host_idle(&from, 1);
    host_idle(&to, 1);
  }
  assert_string_equal(to.log, "+drive_db drive_db=31.25 -drive_db ");
  // A window that is closed leaves its text to those that are open
  host_close(&from);
  to.log[0] = '\0';
  key_with_ctrl(&to, XK_z);
  key_with_ctrl(&to, XK_v);
  host_idle(&to, 50);
  assert_non_null(strstr(to.log, "drive_db=31.25"));
  host_close(&to);
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
main(int argc, char** argv)
{
  self = argv[0];
  if (argc == 2 && !strcmp(argv[1], "follow")) {
    return follow_elsewhere();
  }
  if (argc == 2 && !strcmp(argv[1], "row")) {
    return turn_elsewhere();
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(all_forms_open_and_show_themselves),
    cmocka_unit_test(pointer_and_keys_arrive),
    cmocka_unit_test(memories_and_menus_arrive),
    cmocka_unit_test(the_past_survives_the_window),
    cmocka_unit_test(windows_of_one_process_move_together),
    cmocka_unit_test(windows_of_two_processes_move_together),
    cmocka_unit_test(a_row_of_two_processes_turns),
    cmocka_unit_test(the_host_resizes),
    cmocka_unit_test(a_host_may_destroy_the_parent_first),
    cmocka_unit_test(many_openings_lose_nothing),
    cmocka_unit_test(copy_and_paste_go_from_window_to_window),
    cmocka_unit_test(without_a_display_there_is_no_window),
  };
  return cmocka_run_group_tests_name("window", tests, connect, disconnect);
}
