// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The promises of the echo as a stage

#include "echo_rig.h"

static void
test_dry_passes_exactly(void** state)
{
  (void)state;
  rig r = rig_open(&thickening_echo_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "wet_db", -60.0);
  promise_bursts(in, N, 4);
  run(&r);
  assert_memory_equal(out, in, sizeof(in));
  rig_close(&r);
}

static void
test_nothing_grows(void** state)
{
  (void)state;
  // Ten minutes of full-scale noise, at the most repeats in the shortest and
  // the longest time: bounded by saturation (the tangent by 1, before the
  // compensation), and no louder at the end than at the start
  for (uint32_t k = 0; k < 2; ++k) {
    rig      r     = plain_echo(RATE_HZ);
    uint32_t seed  = 6;
    double   first = 0.0;
    double   last  = 0.0;
    rig_set(&r, "time_ms", k ? 5.0 : 250.0);
    rig_set(&r, "repeats_pc", 90.0);
    rig_set(&r, "drive_db", k ? 24.0 : 0.0);
    rig_set(&r, "flutter_pc", 1.0);
    rig_set(&r, "wet_db", 6.0);
    for (uint32_t block = 0; block < 300; ++block) {
      for (uint32_t i = 0; i < N; ++i) {
        in[i] = check_noise(&seed);
      }
      run(&r);
      const double db = check_rms_db(out, N);
      first           = block == 5 ? db : first;
      last            = db;
    }
    print_message("# first %.2f dBFS, last %.2f\n", first, last);
    assert_near(last, first, 0.3);

    // Silence after it: below -140 dBFS in three decay times, T 60 / (-20 lg g)
    const double t60 = (k ? 0.005 : 0.25) * 60.0 / -gain_to_db(0.9);
    memset(in, 0, sizeof(in));
    for (uint32_t block = 0; block < 3.0 * t60 / 2.0 + 1.0; ++block) {
      run(&r);
    }
    run(&r);
    print_message("# after three decay times %.1f dBFS\n",
                  check_rms_db(out, N));
    assert_true(check_rms_db(out, N) < -140.0);
    rig_close(&r);
  }
}

static void
test_dc_does_not_pass(void** state)
{
  (void)state;
  rig r = rig_open(&thickening_echo_ops, RATE_HZ, 1, NULL);
  rig_set(&r, "dry", 1.0);
  rig_set(&r, "repeats_pc", 90.0);
  rig_set(&r, "low_cut_hz", 20.0);
  for (uint32_t i = 0; i < N; ++i) {
    in[i] = 0.5F;
  }
  for (int k = 0; k < 3; ++k) {
    run(&r);
  }
  double mean = 0.0;
  for (uint32_t i = N - 24000; i < N; ++i) {
    mean += (double)out[i] / 24000.0;
  }
  assert_true(gain_to_db(fabs(mean) + 1e-12) < -80.0);
  rig_close(&r);
}

static void
test_half_a_mebibyte_is_enough(void** state)
{
  (void)state;
  // Stereo, any rate
  assert_true(thickening_echo_ops.size <= 512 * 1024);
}

static void
test_promises(void** state)
{
  (void)state;
  rig r = rig_open(&thickening_echo_ops, RATE_HZ, 1, NULL);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  rig_set(&r, "time_ms", 5.0);
  rig_set(&r, "repeats_pc", 90.0);
  rig_set(&r, "flutter_pc", 1.0);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  promise_finite(&thickening_echo_ops, 2);
  promise_finite_held(&thickening_echo_ops, 2);
  assert_int_equal(r.st.ops->latency_frames(r.st.state), 0);
  rig_close(&r);

  // At rates where the tape does not hold every frame
  r = rig_open(&thickening_echo_ops, 384000.0, 1, NULL);
  promise_any_blocks(&r, NULL);
  rig_close(&r);
}

static void
test_no_click(void** state)
{
  (void)state;
  rig r = rig_open(&thickening_echo_ops, RATE_HZ, 1, NULL);
  promise_no_click(&r);
  *rig_value(&r, "dry")        = 1.0F;
  *rig_value(&r, "wet_db")     = 6.0F;
  *rig_value(&r, "low_cut_hz") = 20.0F;
  // At 250 ms more would bring back the start of the sine, which is a click
  *rig_value(&r, "repeats_pc") = 20.0F;
  promise_no_click(&r);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_dry_passes_exactly),
    cmocka_unit_test(test_nothing_grows),
    cmocka_unit_test(test_dc_does_not_pass),
    cmocka_unit_test(test_half_a_mebibyte_is_enough),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_no_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
