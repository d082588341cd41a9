// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Every form draws its sheet: on both grounds, at all scales, in odd sizes,
/// and only where something is new

#include "window_rig.h"

enum { PATH_SIZE = 256 };

/// Of settings: nobody's own
static char folder[] = "/tmp/dustcap-window-XXXXXX";

static uint32_t
pixel(const platform_pixels* p, int x, int y)
{
  uint32_t rgb = 0;
  memcpy(&rgb, p->data + (size_t)y * (size_t)p->stride + 4UL * (size_t)x, 4);
  return rgb;
}

/// Pixels in a part of the sheet that are not its ground
static uint32_t
count_ink(const platform_pixels* p, int y0, int y1)
{
  const uint32_t ground = pixel(p, 2, 2);
  uint32_t       n      = 0;
  for (int y = y0; y < y1; ++y) {
    for (int x = 0; x < p->width; ++x) {
      n += pixel(p, x, y) != ground;
    }
  }
  return n;
}

/// Whether all pixels are opaque: a window may be one that shines through
static bool
is_opaque(const platform_pixels* p)
{
  for (int y = 0; y < p->height; ++y) {
    for (int x = 0; x < p->width; ++x) {
      if (pixel(p, x, y) >> 24U != 0xFFU) {
        return false;
      }
    }
  }
  return true;
}

static void
draw_form(const plugin_form* form)
{
  static rig r;
  rig_open(&r, form->uri + strlen(SHELL_URI_PREFIX));
  rig_pass(&r, 0.2);
  const platform_pixels p = rig_paint(&r);
  assert_int_equal(p.width, FRAME_WIDTH);
  assert_int_equal(p.height, FRAME_HEIGHT);
  assert_true(is_opaque(&p));
  assert_true(count_ink(&p, 8, 36) > 300);     // Title
  assert_true(count_ink(&p, 250, 400) > 1500); // Rows
  assert_true(count_ink(&p, 404, 450) > 800);  // Levels
  assert_true(count_ink(&p, 454, 478) > 300);  // Help
  rig_close(&r);
}

static void
all_forms_draw(void** state)
{
  const plugin* p = NULL;
  uint32_t      n = 0;
  (void)state;
  for (uint32_t k = 0; (p = shell_plugin(k)); ++k) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i, ++n) {
      const plugin_form form = shell_form(p, i);
      draw_form(&form);
    }
  }
  assert_int_equal(n, 20);
}

static void
figures_are_drawn_once_computed(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t k = 0; (p = shell_plugin(k)); ++k) {
    static rig r;
    rig_open(&r, p->stem);
    const picture* const pic = picture_of(p->stem);
    for (uint32_t i = 0; i < pic->n_figures; ++i) {
      assert_true(pic->figures[i].title && pic->figures[i].subtitle);
    }
    platform_pixels pixels = rig_paint(&r);
    const uint32_t  bare   = count_ink(&pixels, 62, 300);
    rig_settle(&r);
    pixels = rig_paint(&r);
    if (pic->n_figures && count_ink(&pixels, 62, 300) <= bare) {
      fail_msg("%s: results are not drawn", p->stem);
    }
    rig_close(&r);
  }
}

static void
nothing_new_draws_nothing(void** state)
{
  static rig r;
  (void)state;
  rig_open(&r, "air-shelf");
  rig_settle(&r);
  (void)rig_paint(&r);
  rig_pass(&r, 5);
  (void)rig_paint(&r);
  assert_int_equal(r.n_boxes, 0);
  rig_close(&r);
}

static void
a_moving_level_draws_little(void** state)
{
  static rig r;
  long       area = 0;
  (void)state;
  rig_open(&r, "air-shelf");
  rig_settle(&r);
  frame_take_meter(r.f, 0, -18);
  rig_pass(&r, 1);
  (void)rig_paint(&r);
  frame_take_meter(r.f, 0, -18.2F);
  rig_pass(&r, 0.04);
  (void)rig_paint(&r);
  for (uint32_t i = 0; i < r.n_boxes; ++i) {
    area += (long)r.boxes[i].w * r.boxes[i].h;
  }
  assert_true(area > 0);
  assert_true(area < FRAME_WIDTH * FRAME_HEIGHT / 40);
  rig_close(&r);
}

/// What moved is gone when it is elsewhere: the picture is that of a fresh
/// sheet
static void
marks_leave_no_traces(void** state)
{
  static rig a;
  static rig b;
  (void)state;
  rig_open(&a, "input-compressor");
  rig_open(&b, "input-compressor");
  rig_settle(&a);
  rig_settle(&b);
  for (int i = 0; i < 40; ++i) {
    frame_take_meter(a.f, 0, -40.0F + (float)i);
    frame_take_meter(a.f, 1, -38.0F + (float)i);
    rig_pass(&a, 0.034);
    (void)rig_paint(&a);
  }
  frame_take_meter(a.f, 0, -120);
  frame_take_meter(a.f, 1, -120);
  rig_pass(&a, 25);
  rig_pass(&b, 25);
  (void)rig_paint(&a);
  rig_pass(&a, 0.3);
  const platform_pixels p = rig_paint(&a);
  const platform_pixels q = rig_paint(&b);
  // Below the figures' histories, which have their own end
  for (int y = 404; y < 450; ++y) {
    for (int x = 0; x < p.width; ++x) {
      if (x < 330 && pixel(&p, x, y) != pixel(&q, x, y)) {
        fail_msg("a trace at %d, %d", x, y);
      }
    }
  }
  rig_close(&a);
  rig_close(&b);
}

static void
odd_sizes_do_no_harm(void** state)
{
  static const int sizes[][2] = {{1, 1},      {760, 1},   {1, 480},
                                 {300, 200},  {759, 479}, {1900, 1200},
                                 {4000, 3000}};
  static rig       r;
  (void)state;
  rig_open(&r, "bus-tone");
  for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); ++i) {
    assert_true(frame_resize(r.f, sizes[i][0], sizes[i][1]));
    rig_pass(&r, 0.1);
    const platform_pixels p = rig_paint(&r);
    assert_int_equal(p.width, sizes[i][0]);
    assert_int_equal(p.height, sizes[i][1]);
    assert_true(is_opaque(&p));
  }
  assert_false(frame_resize(r.f, 0, 10));
  assert_false(frame_resize(r.f, 100000, 10));
  rig_close(&r);
}

static void
choose(rig* r, double dx, double dy)
{
  double x = 0;
  double y = 0;
  assert_true(frame_word_of(r->f, "setup", &x, &y));
  rig_click(r, x, y);
  rig_pass(r, 0.5);
  assert_true(frame_word_of(r->f, dy > 0 ? "Scale" : "Ground", &x, &y));
  const double k = r->width / (double)FRAME_WIDTH;
  rig_click(r, x + dx * k, y);
  rig_pass(r, 0.5);
  (void)rig_key(r, KEY_ESCAPE, false);
}

static void
ground_and_scale_hold_for_all_windows(void** state)
{
  static rig a;
  static rig b;
  (void)state;
  rig_open(&a, "tube-stage");
  rig_open(&b, "air-shelf");
  platform_pixels p     = rig_paint(&b);
  const uint32_t  night = pixel(&p, 2, 2);
  choose(&a, 64 + 50, 0); // "paper"
  rig_pass(&b, 0.1);
  p = rig_paint(&b);
  assert_true((pixel(&p, 2, 2) & 0xFFFFFFU) == 0xFBFAF7);
  choose(&a, 64 + 2, 0); // "night"
  rig_pass(&b, 0.1);
  p = rig_paint(&b);
  assert_true(pixel(&p, 2, 2) == night);
  choose(&a, 64 + 22, 1); // "1.25"
  rig_pass(&b, 0.1);
  assert_int_equal(b.width, 950);
  assert_int_equal(b.height, 600);
  rig_close(&a);
  rig_close(&b);
  // And for those to come
  rig_open(&a, "tube-stage");
  assert_int_equal(a.width, 950);
  choose(&a, 64 + 2, 1); // "1"
  assert_int_equal(a.width, FRAME_WIDTH);
  rig_close(&a);

  // It is remembered in a file of two lines
  char  path[PATH_SIZE];
  char  text[256] = "";
  FILE* file      = NULL;
  (void)snprintf(path, sizeof(path), "%s/dustcap/window", folder);
  file = fopen(path, "r");
  assert_non_null(file);
  assert_true(fread(text, 1, sizeof(text) - 1, file) > 0);
  fclose(file);
  assert_string_equal(text, "ground = night\nscale = 1.00\n");
}

static void
the_environment_decides(void** state)
{
  static rig r;
  (void)state;
  assert_int_equal(setenv("DUSTCAP_SCALE", "1.5", 1), 0);
  assert_int_equal(setenv("DUSTCAP_GROUND", "paper", 1), 0);
  rig_open(&r, "plate-send");
  const platform_pixels p = rig_paint(&r);
  assert_int_equal(p.width, 1140);
  assert_true((pixel(&p, 2, 2) & 0xFFFFFFU) == 0xFBFAF7);
  rig_close(&r);
  for (int i = 0; i < 5; ++i) { // What is none is nothing
    static const char* const bad[] = {"0.5", "4", "x", "1.", "-2"};
    assert_int_equal(setenv("DUSTCAP_SCALE", bad[i], 1), 0);
    rig_open(&r, "plate-send");
    assert_int_equal(r.width, FRAME_WIDTH);
    rig_close(&r);
  }
  assert_int_equal(unsetenv("DUSTCAP_SCALE"), 0);
  assert_int_equal(unsetenv("DUSTCAP_GROUND"), 0);
}

static int
own_folder(void** state)
{
  (void)state;
  return mkdtemp(folder) && !setenv("XDG_CONFIG_HOME", folder, 1) ? 0 : 1;
}

static int
remove_folder(void** state)
{
  char path[PATH_SIZE];
  (void)state;
  (void)snprintf(path, sizeof(path), "%s/dustcap/window", folder);
  (void)remove(path);
  (void)snprintf(path, sizeof(path), "%s/dustcap", folder);
  (void)remove(path);
  return remove(folder);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(all_forms_draw),
    cmocka_unit_test(figures_are_drawn_once_computed),
    cmocka_unit_test(nothing_new_draws_nothing),
    cmocka_unit_test(a_moving_level_draws_little),
    cmocka_unit_test(marks_leave_no_traces),
    cmocka_unit_test(odd_sizes_do_no_harm),
    cmocka_unit_test(ground_and_scale_hold_for_all_windows),
    cmocka_unit_test(the_environment_decides),
  };
  return cmocka_run_group_tests_name("sheets-drawn", tests, own_folder,
                                     remove_folder);
}
