// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The fast logarithm, exponential and tanh against those of libm, in double

#include "tests/support/check.h"

#include "common/core/fastmath.h"

static void
test_log2_sweep(void** state)
{
  (void)state;

  // Every 97th float from the smallest normal one to the largest
  double worst = 0.0;
  for (int32_t i = 0x00800000; i < 0x7F800000 - 97; i += 97) {
    const float  x    = float_of_bits(i);
    const double want = log2((double)x);
    const double room = 3e-7 * fabs(want) + 1e-7;
    const double miss = fabs((double)fast_log2(x) - want) / room;
    worst             = miss > worst ? miss : worst;
  }
  print_message("# log2: %.2f of the stated error\n", worst);
  assert_true(worst <= 1.0);
}

static void
test_log2_near_1(void** state)
{
  (void)state;

  // Level changes near 0 dB keep their relative precision
  for (uint32_t i = 0; i < 1000; ++i) {
    const float  x    = (float)(1.0 + 1e-6 * exp(0.01 * i));
    const double want = log2((double)x);
    assert_near((double)fast_log2(x), want, 3e-7 * want);
  }
}

static void
test_exp2_sweep(void** state)
{
  (void)state;

  double worst = 0.0;
  for (uint32_t i = 0; i <= 14000000; ++i) {
    const float  x    = (float)(-126.0 + 1.8e-5 * i);
    const double want = exp2((double)x);
    const double miss = fabs((double)fast_exp2(x) / want - 1.0);
    worst             = miss > worst ? miss : worst;
  }
  print_message("# exp2: relative error %.2g\n", worst);
  assert_true(worst <= 2e-7);
}

static void
test_tanh_sweep(void** state)
{
  (void)state;

  double worst = 0.0;
  for (uint32_t i = 1; i <= 2000000; ++i) {
    const float  x    = 1e-5F * (float)i;
    const double miss = fabs((double)fast_tanh(x) / tanh((double)x) - 1.0);
    worst             = miss > worst ? miss : worst;
    assert_true(fast_tanh(-x) == -fast_tanh(x));
  }
  print_message("# tanh: relative error %.2g\n", worst);
  assert_true(worst <= 3e-6);
  assert_true(fast_tanh(0.0F) == 0.0F);
  assert_true(fast_tanh(1e9F) == fast_tanh(7.0F));
  assert_true(isfinite(fast_tanh(NAN)));
}

static void
test_exact(void** state)
{
  (void)state;

  for (int i = -126; i <= 126; ++i) {
    const float power = ldexpf(1.0F, i);
    assert_true(fast_exp2((float)i) == power);
    assert_true(fast_log2(power) == (float)i);
  }
}

static void
test_out_of_range(void** state)
{
  (void)state;

  assert_true(fast_exp2(-1e9F) == ldexpf(1.0F, -126));
  assert_true(fast_exp2(1e9F) == ldexpf(1.0F, 126));
  assert_true(isfinite(fast_exp2(NAN)));
  assert_true(isfinite(fast_log2(0.0F)));
  assert_true(isfinite(fast_log2(-1.0F)));
  assert_true(isfinite(fast_log2(INFINITY)));
}

static void
test_db(void** state)
{
  (void)state;

  assert_near((double)DB_PER_OCTAVE, 20.0 * log10(2.0), 1e-6);
  assert_near((double)OCTAVES_PER_DB, 1.0 / (20.0 * log10(2.0)), 1e-8);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_log2_sweep), cmocka_unit_test(test_log2_near_1),
    cmocka_unit_test(test_exp2_sweep), cmocka_unit_test(test_tanh_sweep),
    cmocka_unit_test(test_exact),      cmocka_unit_test(test_out_of_range),
    cmocka_unit_test(test_db),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
