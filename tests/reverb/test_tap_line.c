// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The past of a signal, contiguous

#include "tests/support/check.h"

#include "common/reverb/tap_line.h"

static void
test_any_block_of_the_past(void** state)
{
  (void)state;
  // Each frame holds its own number, so a delayed one tells where it comes from
  enum { SIZE = 128, N = 1000 };
  float    line[SIZE + CONTROL_FRAMES];
  tap_line h;
  tap_line_init(&h, line, SIZE);
  tap_line_reset(&h);
  for (uint32_t i = 0, j = 0; i < N; ++j) {
    const uint32_t n = 1 + j * 13 % CONTROL_FRAMES;
    float          in[CONTROL_FRAMES];
    for (uint32_t k = 0; k < n; ++k) {
      in[k] = (float)(i + k + 1);
    }
    tap_line_push(&h, in, n);
    for (uint32_t delay = 0; delay <= SIZE - CONTROL_FRAMES; ++delay) {
      const float* const x = tap_line_at(&h, delay);
      for (uint32_t k = 0; k < n; ++k) {
        const uint32_t at = i + k + 1;
        assert_true(x[k] == (at > delay ? (float)(at - delay) : 0.0F));
      }
    }
    i += n;
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_any_block_of_the_past),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
