// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plate as a send: its promises, whatever the input and controls

#include "plate_rig.h"
#include "send.h"

static void
test_silence_after_the_worst(void** state)
{
  (void)state;

  // Ten minutes of full-scale noise at the loudest and longest settings: as
  // loud at the end as when the plate was filled (after two decay times, within
  // what 3 s of noise vary); three decay times later there is nothing
  static float noise[2][N];
  rig          r = rig_open(&plate_send_ops, RATE_HZ, 2, NULL);
  rig_set(&r, "decay_s", 6.0);
  rig_set(&r, "low_decay_pc", 200.0);
  rig_set(&r, "high_decay_pc", 100.0);
  rig_set(&r, "treble_db", 9.0);
  rig_set(&r, "low_cut_hz", 20.0);
  rig_set(&r, "wet_db", 12.0);
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig_set(&r, "quality", quality);
    uint32_t seed     = 1;
    double   first_db = 0.0;
    for (uint32_t block = 0; block < 200; ++block) { // of 3 s
      for (uint32_t i = 0; i < N; ++i) {
        noise[0][i] = copysignf(1.0F, check_noise(&seed));
        noise[1][i] = copysignf(1.0F, check_noise(&seed));
      }
      rig_play(&r, noise[0], noise[1], N);
      if (block == 4) {
        first_db = check_rms_db(noise[0], N);
      }
    }
    print_message("# %.1f dBFS after 15 s, %.1f after ten minutes\n", first_db,
                  check_rms_db(noise[0], N));
    assert_near(check_rms_db(noise[0], N), first_db, 0.5);

    for (uint32_t block = 0; block < 12; ++block) { // 36 s
      memset(noise, 0, sizeof(noise));
      rig_play(&r, noise[0], noise[1], N);
    }
    for (uint32_t i = N - 4800; i < N; ++i) {
      assert_true(fabsf(noise[0][i]) < 1e-7F); // -140 dBFS
      assert_true(fabsf(noise[1][i]) < 1e-7F);
    }
  }
  rig_close(&r);
}

static void
test_no_dc(void** state)
{
  (void)state;
  static float x[2][N];
  rig          r = open_plate(RATE_HZ);
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig_set(&r, "quality", quality);
    for (uint32_t half = 0; half < 2; ++half) {
      for (uint32_t i = 0; i < N; ++i) {
        x[0][i] = x[1][i] = 0.5F;
      }
      rig_play(&r, x[0], x[1], N);
    }
    double mean = 0.0;
    for (uint32_t i = N - 24000; i < N; ++i) {
      mean += (double)x[0][i] / 24000.0;
    }
    assert_near(mean, 0.0, 1e-4); // -80 dBFS
  }
  rig_close(&r);
}

static void
test_promises(void** state)
{
  (void)state;
  for (uint32_t heard = 0; heard < 2; ++heard) {
    const stage_ops mono = send_as_mono(&plate_send_ops, heard);
    rig             r    = rig_open(&mono, RATE_HZ, 1, NULL);
    for (uint32_t quality = 0; quality < 2; ++quality) {
      rig_set(&r, "quality", quality);
      promise_any_blocks(&r, NULL);
    }
    assert_int_equal(r.st.ops->latency_frames(r.st.state), 0);
    promise_finite(&mono, 1);
    promise_finite_held(&mono, 1);
    rig_close(&r);
  }
}

static void
test_no_click(void** state)
{
  (void)state;
  const stage_ops mono = send_as_mono(&plate_send_ops, 0);
  rig             r    = rig_open(&mono, RATE_HZ, 1, NULL);
  promise_no_click(&r);
  rig_set(&r, "quality", 1.0);
  promise_no_click(&r);

  // All decay controls at once
  rig_set(&r, "quality", 0.0);
  float to[RIG_MAX_PARAMS];
  for (uint32_t way = 0; way < 2; ++way) {
    rig_set(&r, "decay_s", way ? 0.5 : 6.0);
    rig_set(&r, "low_decay_pc", way ? 50.0 : 200.0);
    rig_set(&r, "high_decay_pc", way ? 20.0 : 100.0);
    memcpy(to, r.values, sizeof(to));
    rig_set(&r, "decay_s", way ? 6.0 : 0.5);
    rig_set(&r, "low_decay_pc", way ? 200.0 : 50.0);
    rig_set(&r, "high_decay_pc", way ? 100.0 : 20.0);
    assert_below(click_of_jump(&mono, RATE_HZ, r.values, to).jump_db,
                 CLICK_LIMIT_DB);
  }
  rig_close(&r);
}

static void
test_quality_may_change_back_and_forth(void** state)
{
  (void)state;

  // Switched faster than one fades into the other: the last one chosen remains,
  // to the bit once the other has rung out
  static float x[2][N], y[2][N];
  rig          r    = rig_open(&plate_send_ops, RATE_HZ, 2, NULL);
  uint32_t     seed = 4;
  for (uint32_t i = 0; i < 4800; ++i) {
    *rig_value(&r, "quality") = (float)(i / 100 % 2);
    stage_set(&r.st, r.values);
    float left  = check_noise(&seed);
    float right = check_noise(&seed);
    rig_play(&r, &left, &right, 1);
    assert_true(fabsf(left) < 4.0F);
  }
  *rig_value(&r, "quality") = 0.0F;
  stage_set(&r.st, r.values);
  for (uint32_t k = 0; k < 12; ++k) { // Both plates empty
    memset(x, 0, sizeof(x));
    rig_play(&r, x[0], x[1], N);
  }
  memset(x, 0, sizeof(x));
  x[0][0] = x[1][0] = 1.0F;
  rig_play(&r, x[0], x[1], N);

  stage_reset(&r.st);
  memset(y, 0, sizeof(y));
  y[0][0] = y[1][0] = 1.0F;
  rig_play(&r, y[0], y[1], N);
  for (uint32_t i = 0; i < N; ++i) {
    assert_near((double)x[0][i], (double)y[0][i], 1e-7);
  }
  rig_close(&r);
}

static void
test_memory(void** state)
{
  (void)state;
  assert_true(sizeof(plate_send) <= 4U << 20U);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_silence_after_the_worst),
    cmocka_unit_test(test_no_dc),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_no_click),
    cmocka_unit_test(test_quality_may_change_back_and_forth),
    cmocka_unit_test(test_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
