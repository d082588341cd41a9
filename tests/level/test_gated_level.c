// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The histogram against gating as in ITU-R BS.1770-5: two passes over a list
/// of all blocks

#include "tests/support/check.h"

#include "common/level/gated_level.h"

#define MAX_STEPS 20000

static double
list_level_dbfs(const double* step, uint32_t n_steps)
{
  static double block[MAX_STEPS];
  uint32_t      n   = 0;
  double        sum = 0.0;
  for (uint32_t i = 3; i < n_steps; ++i) {
    const double p = (step[i] + step[i - 1] + step[i - 2] + step[i - 3]) / 4.0;
    if (10.0 * log10(p) >= -60.0) {
      block[n++] = p;
      sum += p;
    }
  }
  const double gate = sum / n / 10.0;
  double       over = 0.0;
  uint32_t     m    = 0;
  for (uint32_t i = 0; i < n; ++i) {
    over += block[i] >= gate ? block[i] : 0.0;
    m += block[i] >= gate;
  }
  return 10.0 * log10(over / m);
}

static void
test_equals_the_list(void** state)
{
  (void)state;
  static double      step[MAX_STEPS];
  static gated_level l;
  uint32_t           seed = 1;
  for (int turn = 0; turn < 20; ++turn) {
    gated_level_reset(&l, -60.0);
    double db = -30.0;
    for (uint32_t i = 0; i < MAX_STEPS; ++i) {
      db += 4.0 * (double)check_noise(&seed) - 0.02 * (db + 30.0);
      step[i] = pow(10.0, db / 10.0);
      (void)gated_level_push(&l, step[i]);
    }
    assert_near(gated_level_db(&l), list_level_dbfs(step, MAX_STEPS), 0.01);
  }
}

static void
push_s(gated_level* l, double seconds, double dbfs)
{
  for (int i = 0; i < (int)(10.0 * seconds + 0.5); ++i) {
    (void)gated_level_push(l, pow(10.0, dbfs / 10.0));
  }
}

static void
test_pauses_do_not_count(void** state)
{
  (void)state;
  static gated_level l;
  gated_level_reset(&l, -60.0);
  push_s(&l, 0.3, -20.0);
  assert_near(gated_level_db(&l), GATED_LEVEL_FLOOR_DB, 0.0); // No block yet
  push_s(&l, 59.7, -20.0);
  assert_near(gated_level_db(&l), -20.0, 1e-9);

  // Blocks across the edge are all that changes: 3 of about 600
  push_s(&l, 300.0, -61.0);
  assert_near(gated_level_db(&l), -20.0, 0.02);

  // Above the absolute, below the relative gate
  push_s(&l, 30.0, -45.0);
  assert_near(gated_level_db(&l), -20.0, 0.02);

  // Within 10 dB: power mean of 60 s and 60 s
  push_s(&l, 60.0, -26.0);
  const double mean = 0.5 * (pow(10.0, -2.0) + pow(10.0, -2.6));
  assert_near(gated_level_db(&l), 10.0 * log10(mean), 0.03);
}

static void
test_extremes(void** state)
{
  (void)state;
  static gated_level l;
  gated_level_reset(&l, -60.0);
  push_s(&l, 10.0, -300.0);
  assert_near(gated_level_db(&l), GATED_LEVEL_FLOOR_DB, 0.0);
  (void)gated_level_push(&l, 0.0);
  assert_near(gated_level_db(&l), GATED_LEVEL_FLOOR_DB, 0.0);
  push_s(&l, 10.0, 60.0); // The loudest that a stage takes
  assert_near(gated_level_db(&l), 60.0, 0.1);
}

/// A passage whose levels wander over the bins of the others
static void
push_round(gated_level* l, uint32_t round)
{
  gated_level_reset(l, -60.0);
  for (uint32_t i = 0; i < 200; ++i) {
    push_s(l, 0.1 * (1 + i % 5), -40.0 + (double)((i * 7 + round * 3) % 30));
  }
}

static void
test_a_reset_forgets(void** state)
{
  (void)state;
  static gated_level used;
  for (uint32_t round = 0; round < 6; ++round) {
    if (round == 3) {
      used.now = UINT32_MAX - 1U; // The count of resets soon overflows
    }
    static gated_level fresh;
    fresh = (gated_level){0};
    push_round(&used, round);
    push_round(&fresh, round);
    assert_near(gated_level_db(&used), gated_level_db(&fresh), 0.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_equals_the_list),
    cmocka_unit_test(test_pauses_do_not_count),
    cmocka_unit_test(test_extremes),
    cmocka_unit_test(test_a_reset_forgets),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
