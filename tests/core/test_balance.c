// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The balance taken out before a curve and put back after it, on plain
/// signals: expected values are those of the definition, y = r f(x / r)

#include "tests/support/check.h"

#include "common/core/balance.h"

#include <string.h>

#define RATE_HZ 48000.0

enum { N = 48000, LATE = 37 };

static float   in[2][N], even[2][N], out[2][N];
static float   late[2][N + LATE];
static balance b;

/// Runs take and give, LATE frames apart, in blocks of up to `block`
static void
run(uint32_t block)
{
  memset(late, 0, sizeof(late));
  balance_reset(&b);
  uint32_t phase = 0;
  for (uint32_t at = 0; at < N;) {
    if (phase == 0) {
      balance_control(&b);
    }
    uint32_t n = CONTROL_FRAMES - phase;
    n          = n < block ? n : block;
    n          = n < N - at ? n : N - at;
    phase      = (phase + n) % CONTROL_FRAMES;

    const float* const from[] = {in[0] + at, in[1] + at};
    float* const       x[]    = {even[0] + at, even[1] + at};
    float* const       y[]    = {out[0] + at, out[1] + at};
    balance_listen(&b, from, n);
    for (uint32_t k = 0; k < 2; ++k) {
      memcpy(x[k], from[k], n * sizeof(float));
    }
    balance_take(&b, x, n);
    for (uint32_t k = 0; k < 2; ++k) {
      memcpy(late[k] + at + LATE, x[k], n * sizeof(float));
      memcpy(y[k], late[k] + at, n * sizeof(float));
    }
    balance_give(&b, y, LATE, n);
    at += n;
  }
}

/// Bursts of noise in both, at levels of their own that jump
static void
fill_bursts(void)
{
  uint32_t seed = 9;
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = (i / 3000 % 3 ? 0.3F : 0.01F) * check_noise(&seed);
    in[1][i] = (i / 4100 % 2 ? 0.1F : 0.5F) * check_noise(&seed);
  }
}

/// One noise in both, the right `right_db` louder
static void
fill_panned(double right_db)
{
  uint32_t seed = 9;
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = 0.1F * check_noise(&seed);
    in[1][i] = (float)(db_to_gain(right_db) * (double)in[0][i]);
  }
}

static void
test_equal_channels_pass_untouched(void** state)
{
  (void)state;
  fill_panned(0.0);
  run(32);
  assert_memory_equal(even, in, sizeof(in));
  for (uint32_t k = 0; k < 2; ++k) {
    assert_memory_equal(out[k] + LATE, in[k], (N - LATE) * sizeof(float));
  }
}

static void
test_a_panned_source_is_evened_out(void** state)
{
  // Down to the least balance that is taken out
  static const double pans_db[] = {-3.0, -12.0, -23.9, -40.0, 6.0};
  (void)state;
  for (uint32_t p = 0; p < 5; ++p) {
    fill_panned(pans_db[p]);
    run(32);
    const uint32_t soft = pans_db[p] < 0.0 ? 1 : 0;
    const double   r_db = fmax(-fabs(pans_db[p]), -24.0);
    assert_memory_equal(even[1 - soft], in[1 - soft], sizeof(in[0]));
    // Two grid lines to get there from silence
    for (uint32_t i = 3 * CONTROL_FRAMES; i < N; ++i) {
      assert_near((double)even[soft][i], (double)in[soft][i] / db_to_gain(r_db),
                  2e-6);
    }
  }
}

/// Power of the right channel after `n` more frames at `size`
static double
power_after(float size, uint32_t n)
{
  float              x[2][CONTROL_FRAMES];
  const float* const from[] = {x[0], x[1]};
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    x[0][i] = 0.1F;
    x[1][i] = size;
  }
  for (uint32_t at = 0; at < n; at += CONTROL_FRAMES) {
    balance_control(&b);
    balance_listen(&b, from, CONTROL_FRAMES);
  }
  return (double)b.power[1];
}

static void
test_raised_in_2_ms_released_in_100(void** state)
{
  (void)state;
  balance_reset(&b);
  const double part = power_after(0.1F, 96) / 0.01; // 2 ms
  assert_near(-0.002 / log(1.0 - part), 0.002, 0.00002);
  power_after(0.1F, 9600);
  const double before = power_after(0.0F, 960);
  const double after  = power_after(0.0F, 9600);
  assert_near(0.2 / log(before / after), 0.100, 0.001);
}

static void
test_what_is_not_bent_passes(void** state)
{
  // However the balance moves
  (void)state;
  fill_bursts();
  run(32);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = LATE; i < N; ++i) {
      assert_near((double)out[k][i], (double)in[k][i - LATE], 1e-7);
    }
  }
}

static void
test_any_block_size(void** state)
{
  static float want[2][N];
  (void)state;
  fill_bursts();
  run(32);
  memcpy(want, out, sizeof(out));
  for (uint32_t block = 1; block < 32; block += 6) {
    run(block);
    assert_memory_equal(out, want, sizeof(want));
  }
}

static void
test_silence_keeps_the_balance(void** state)
{
  (void)state;
  fill_panned(-6.0);
  for (uint32_t i = N / 4; i < N - 100; ++i) {
    in[0][i] = in[1][i] = 0.0F;
  }
  run(32);
  for (uint32_t i = N - 100; i < N; ++i) {
    assert_near((double)even[1][i], (double)in[0][i], 2e-6);
  }
}

static void
test_mono_is_left_alone(void** state)
{
  balance            mono;
  float              x[32];
  const float* const from[] = {x};
  float* const       to[]   = {x};
  (void)state;
  balance_init(&mono, RATE_HZ, 1);
  for (uint32_t i = 0; i < 32; ++i) {
    x[i] = 0.01F * (float)i;
  }
  balance_control(&mono);
  balance_listen(&mono, from, 32);
  balance_take(&mono, to, 32);
  balance_give(&mono, to, LATE, 32);
  for (uint32_t i = 0; i < 32; ++i) {
    assert_true(x[i] == 0.01F * (float)i);
  }
}

static int
start(void** state)
{
  (void)state;
  balance_init(&b, RATE_HZ, 2);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_equal_channels_pass_untouched),
    cmocka_unit_test(test_a_panned_source_is_evened_out),
    cmocka_unit_test(test_raised_in_2_ms_released_in_100),
    cmocka_unit_test(test_what_is_not_bent_passes),
    cmocka_unit_test(test_any_block_size),
    cmocka_unit_test(test_silence_keeps_the_balance),
    cmocka_unit_test(test_mono_is_left_alone),
  };
  return cmocka_run_group_tests_name("balance", tests, start, NULL);
}
