// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A and B, as a listener has them: the plugins play the demo's guitar, their
/// windows match the loudness, and libebur128 (a reference implementation of
/// ITU-R BS.1770 and EBU R 128) judges what comes out

#include "window_rig.h"

#include <ebur128.h>

/// What R 128 allows between programmes that were levelled with care (EBU R
/// 128, 2014, recommendation i)
#define MOST_LU 0.5

#define LISTEN_S 10.0

typedef struct {
  playing y;
  frame*  f;
  double  now_s;
} desk;

static void
desk_write(void* handle, uint32_t param, float value)
{
  desk* const d    = handle;
  d->y.port[param] = value;
}

static void
desk_open(desk* d, const char* stem)
{
  plugin_form      form;
  const frame_host host  = {.handle = d, .write = desk_write};
  const prefs_host prefs = {0};
  memset(d, 0, sizeof(*d));
  assert_true(playing_find(stem, &form));
  assert_true(playing_start(&d->y, &form));
  d->f = frame_new(&form, &host, &prefs);
  assert_non_null(d->f);
  assert_true(frame_resize(d->f, FRAME_WIDTH, FRAME_HEIGHT));
}

static void
desk_close(desk* d)
{
  frame_free(d->f);
  playing_stop(&d->y);
}

/// Plays from the beginning of the take; returns the loudness in LUFS
static double
desk_play(desk* d, double seconds)
{
  double         lufs = 0;
  ebur128_state* s =
    ebur128_init(d->y.form.n_out, TAKE_RATE_HZ, EBUR128_MODE_I);
  assert_non_null(s);
  d->y.at = 0;
  for (double left = seconds; left > 0; left -= 1.0 / 30) {
    playing_run(&d->y);
    for (uint32_t i = 0; i < d->y.n_params; ++i) {
      frame_take_param(d->f, i, d->y.port[i]);
    }
    for (uint32_t i = 0; i < d->y.n_meters; ++i) {
      frame_take_meter(d->f, i, d->y.port[d->y.n_params + i]);
    }
    d->now_s += 1.0 / 30;
    frame_tick(d->f, d->now_s);
    float both[2 * PLAYING_BLOCK];
    for (uint32_t i = 0; i < PLAYING_BLOCK * d->y.form.n_out; ++i) {
      both[i] = d->y.out[i % d->y.form.n_out][i / d->y.form.n_out];
    }
    assert_int_equal(ebur128_add_frames_float(s, both, PLAYING_BLOCK), 0);
  }
  assert_int_equal(ebur128_loudness_global(s, &lufs), 0);
  ebur128_destroy(&s);
  return lufs;
}

static void
swap(desk* d)
{
  const window_event e = {
    .kind = EVENT_KEY, .key = KEY_TEXT, .text = 'b', .ctrl = true};
  assert_true(frame_event(d->f, &e));
}

static void
set(desk* d, const char* symbol, float value)
{
  const int port = shell_port(d->y.form.plugin, symbol);
  assert_true(port >= 0);
  d->y.port[port] = value;
}

typedef struct {
  const char* stem;
  const char* symbol;
  float       value; ///< Of B
} change;

static void
a_and_b_are_equally_loud(void** state)
{
  static const change changes[] = {
    {"air-shelf", "air_db", 12},
    {"bus-tone", "mid_body_db", 6},
    {"input-compressor", "ratio", 8},
    {"thickening-echo", "wet_db", 0},
    {"tube-stage", "trim_db", -9},
    {"tube-stage", "drive_db", 40},
    {"speaker-breakup", "off_axis_pc", 100},
  };
  static desk d;
  (void)state;
  for (size_t i = 0; i < sizeof(changes) / sizeof(changes[0]); ++i) {
    const change c = changes[i];
    desk_open(&d, c.stem);
    (void)desk_play(&d, LISTEN_S);
    const double before_a = desk_play(&d, LISTEN_S);
    swap(&d);
    set(&d, c.symbol, c.value);
    (void)desk_play(&d, LISTEN_S);
    const double before_b = desk_play(&d, LISTEN_S);

    set(&d, "match_bypass", 1); // B keeps its trim
    (void)desk_play(&d, LISTEN_S);
    swap(&d);
    (void)desk_play(&d, LISTEN_S);
    const double a = desk_play(&d, LISTEN_S);
    swap(&d);
    const double b = desk_play(&d, LISTEN_S);
    printf("# %s, %s=%g: B is %+.2f LU, then %+.2f LU louder than A\n", c.stem,
           c.symbol, (double)c.value, before_b - before_a, b - a);
    assert_near(b, before_b, 0.1);
    assert_near(b - a, 0, MOST_LU);
    desk_close(&d);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_and_b_are_equally_loud),
  };
  return cmocka_run_group_tests_name("compare-played", tests, NULL, NULL);
}
