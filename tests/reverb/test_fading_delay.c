// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Delays that jump without a click

#include "tests/support/check.h"
#include "tests/support/click.h"

#include "common/reverb/fading_delay.h"

#define RATE_HZ 48000.0
#define FADE_S  0.020

enum { SIZE = 1024, N = 24000, AT = 9600 };

/// Whole lines of the grid
enum { FADE_FRAMES = 960 + CONTROL_FRAMES };

static float    x[2][N], y[2][N];
static float    line[2][SIZE + CONTROL_FRAMES];
static tap_line past[2];

static void
start(fading_delay* d, uint32_t frames)
{
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_init(&past[k], line[k], SIZE);
    tap_line_reset(&past[k]);
  }
  fading_delay_init(d, SIZE, FADE_S, RATE_HZ);
  fading_delay_set(d, frames);
  fading_delay_reset(d);
}

/// Runs frames `from` to `to`, both on the grid, by calls of odd lengths
static void
run(fading_delay* d, uint32_t from, uint32_t to)
{
  for (uint32_t i = from, n = 0; i < to; i += n) {
    if (i % CONTROL_FRAMES == 0) {
      (void)fading_delay_end(d);
      fading_delay_begin(d);
    }
    const uint32_t left = CONTROL_FRAMES - i % CONTROL_FRAMES;
    n                   = 1 + i * 7 % left;
    float* const out[]  = {y[0] + i, y[1] + i};
    tap_line_push(&past[0], x[0] + i, n);
    tap_line_push(&past[1], x[1] + i, n);
    fading_delay_read(d, past, out, n);
  }
}

static void
assert_delayed(uint32_t from, uint32_t to, uint32_t frames)
{
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = from; i < to; ++i) {
      assert_true(y[k][i] == (i < frames ? 0.0F : x[k][i - frames]));
    }
  }
}

static void
test_each_delay_is_exact(void** state)
{
  (void)state;
  uint32_t seed = 1;
  for (uint32_t i = 0; i < N; ++i) {
    x[0][i] = check_noise(&seed);
    x[1][i] = check_noise(&seed);
  }
  fading_delay d;
  start(&d, 100);
  run(&d, 0, AT);
  fading_delay_set(&d, 731);
  run(&d, AT, N);
  assert_delayed(0, AT, 100);
  assert_delayed(AT + FADE_FRAMES, N, 731);
  // During the fade both are heard: shares add up to 1
  uint32_t n_between = 0;
  for (uint32_t i = AT; i < AT + FADE_FRAMES; ++i) {
    const float a  = x[0][i - 100];
    const float b  = x[0][i - 731];
    const float lo = fminf(a, b) - 1e-6F;
    const float hi = fmaxf(a, b) + 1e-6F;
    assert_true(y[0][i] >= lo && y[0][i] <= hi);
    n_between += y[0][i] != a && y[0][i] != b;
  }
  assert_true(n_between > 900);
}

/// Delays set during a fade wait for its end, and only the last one counts
static void
test_the_last_wish_comes_next(void** state)
{
  (void)state;
  uint32_t seed = 2;
  for (uint32_t i = 0; i < N; ++i) {
    x[0][i] = x[1][i] = check_noise(&seed);
  }
  fading_delay d;
  start(&d, 0);
  run(&d, 0, AT);
  fading_delay_set(&d, 64);
  run(&d, AT, AT + 320);
  fading_delay_set(&d, 500);
  run(&d, AT + 320, AT + 640);
  fading_delay_set(&d, 200);
  run(&d, AT + 640, AT + FADE_FRAMES);
  assert_int_equal(d.to, 64);
  run(&d, AT + FADE_FRAMES, N);
  assert_int_equal(d.to, 200);
  assert_delayed(AT + 2 * FADE_FRAMES + CONTROL_FRAMES, N, 200);
}

/// A sine that jumps by half a period, the largest jump, leaves less than -120
/// dBFS above 4 kHz
static void
test_a_jump_leaves_no_click(void** state)
{
  (void)state;
  check_sine(x[0], N, 220.0, 0.18, RATE_HZ); // -18 dBFS RMS
  check_sine(x[1], N, 220.0, 0.18, RATE_HZ);
  fading_delay d;
  start(&d, 50);
  run(&d, 0, AT);
  fading_delay_set(&d, 159);
  run(&d, AT, N);
  static double z[N];
  for (uint32_t i = 0; i < N; ++i) {
    z[i] = (double)y[0][i];
  }
  click_high_pass(z, N, CLICK_EDGE_HZ, RATE_HZ);
  // After the start of the sine
  const double peak_db = click_peak_db(z + AT - 100, N - AT + 100);
  print_message("# leaves %.1f dBFS\n", peak_db);
  assert_below(peak_db, -120.0);
}

static void
test_is_held_at_what_the_lines_hold(void** state)
{
  (void)state;
  fading_delay d;
  start(&d, 5 * SIZE);
  assert_true(d.to == SIZE - CONTROL_FRAMES);
  for (uint32_t i = 0; i < N; ++i) {
    x[0][i] = x[1][i] = (float)i;
  }
  run(&d, 0, AT);
  assert_delayed(0, AT, SIZE - CONTROL_FRAMES);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_each_delay_is_exact),
    cmocka_unit_test(test_the_last_wish_comes_next),
    cmocka_unit_test(test_a_jump_leaves_no_click),
    cmocka_unit_test(test_is_held_at_what_the_lines_hold),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
