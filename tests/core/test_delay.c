// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tests/support/check.h"

#include "common/core/delay.h"

#define SIZE 256
#define N    2000

static void
run(delay* d, uint32_t frames, const float* x, float* y, uint32_t block)
{
  for (uint32_t i = 0; i < N; i += block) {
    const uint32_t left = N - i;
    delay_process(d, frames, x + i, y + i, left < block ? left : block);
  }
}

static void
test_delays_by_whole_frames(void** state)
{
  (void)state;
  static const uint32_t frames[] = {0, 1, 31, 32, 100, SIZE - CONTROL_FRAMES};
  static const uint32_t blocks[] = {1, 7, 32};
  static float          x[N], y[N], line[SIZE];
  uint32_t              seed = 1;
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = check_noise(&seed);
  }
  for (int v = 0; v < 18; ++v) {
    const uint32_t late = frames[v / 3];
    delay          d;
    delay_init(&d, line, SIZE);
    delay_reset(&d);
    run(&d, late, x, y, blocks[v % 3]);
    for (uint32_t i = 0; i < N; ++i) {
      assert_true(y[i] == (i < late ? 0.0F : x[i - late]));
    }
  }
}

static void
test_in_place(void** state)
{
  (void)state;
  static float x[N], line[SIZE];
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = (float)i + 1.0F;
  }
  delay d;
  delay_init(&d, line, SIZE);
  delay_reset(&d);
  run(&d, 77, x, x, CONTROL_FRAMES);
  for (uint32_t i = 0; i < N; ++i) {
    assert_true(x[i] == (i < 77 ? 0.0F : (float)i - 76.0F));
  }
}

/// A second tap sees the same line at another distance, across the wrap of both
/// the line and the counter of frames
static void
test_tap(void** state)
{
  (void)state;
  static float line[SIZE];
  float        y[CONTROL_FRAMES];
  delay        d;
  delay_init(&d, line, SIZE);
  delay_reset(&d);
  d.pos = 0U - 320U;
  for (uint32_t i = 0; i < 30 * CONTROL_FRAMES; i += CONTROL_FRAMES) {
    float x[CONTROL_FRAMES];
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      x[j] = (float)(i + j);
    }
    delay_process(&d, 5, x, y, CONTROL_FRAMES);
    for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
      const uint32_t now = i + j;
      assert_true(delay_tap(&d, 0, j, CONTROL_FRAMES) == (float)now);
      if (now >= 150) {
        assert_true(delay_tap(&d, 150, j, CONTROL_FRAMES) ==
                    (float)(now - 150));
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_delays_by_whole_frames),
    cmocka_unit_test(test_in_place),
    cmocka_unit_test(test_tap),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
