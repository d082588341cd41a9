// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Inaudible crossfades

#include "tests/support/check.h"
#include "tests/support/click.h"

#include "common/core/crossfade.h"

#define RATE_HZ 48000.0

/// Takes the shares in blocks of awkward sizes
static void
shares(crossfade* c, float* y, uint32_t n)
{
  for (uint32_t i = 0, j = 0; i < n; ++j) {
    const uint32_t size = 1 + j * 7 % CONTROL_FRAMES;
    const uint32_t m    = n - i < size ? n - i : size;
    crossfade_shares(c, y + i, m);
    i += m;
  }
}

static void
test_goes_from_0_to_1(void** state)
{
  (void)state;
  enum { N = 2000 };
  static float y[N];
  crossfade    c = {0};
  assert_false(crossfade_runs(&c) || crossfade_done(&c));
  crossfade_start(&c, 0.020, RATE_HZ);
  assert_true(crossfade_runs(&c));
  assert_false(crossfade_done(&c));
  shares(&c, y, N);
  assert_true(crossfade_done(&c));
  assert_true(y[0] == 0.0F && y[N - 1] == 1.0F);
  for (uint32_t i = 0; i < N; ++i) {
    // Regularised incomplete beta function I_x(3, 3), closed form
    const double x = fmin(i / 961.0, 1.0);
    assert_near((double)y[i], x * x * x * (x * (x * 6.0 - 15.0) + 10.0), 1e-6);
  }
  crossfade_stop(&c);
  assert_false(crossfade_runs(&c));
}

static void
test_leaves_nothing_above_4_khz(void** state)
{
  (void)state;
  enum { N = 24000, AT = 8000 };
  static float y[N];
  crossfade    c = {0};
  crossfade_start(&c, 0.020, RATE_HZ);
  shares(&c, y + AT, N - AT);
  static double x[N];
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = (double)y[i];
  }
  click_high_pass(x, N, CLICK_EDGE_HZ, RATE_HZ);
  const double peak_db = click_peak_db(x, N);
  print_message("# a step of 1 leaves %.1f dB\n", peak_db);
  assert_true(peak_db < -120.0);
}

static void
test_mix_is_between(void** state)
{
  (void)state;
  const float share[3] = {0.0F, 0.25F, 1.0F};
  const float fresh[3] = {8.0F, 8.0F, 8.0F};
  float       old[3]   = {4.0F, 4.0F, 4.0F};
  crossfade_mix(share, fresh, old, 3);
  assert_true(old[0] == 4.0F && old[1] == 5.0F && old[2] == 8.0F);

  const float from[3] = {4.0F, 4.0F, 4.0F};
  float       onto[3] = {8.0F, 8.0F, 8.0F};
  crossfade_mix_onto(share, from, onto, 3);
  assert_true(onto[0] == 4.0F && onto[1] == 5.0F && onto[2] == 8.0F);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_goes_from_0_to_1),
    cmocka_unit_test(test_leaves_nothing_above_4_khz),
    cmocka_unit_test(test_mix_is_between),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
