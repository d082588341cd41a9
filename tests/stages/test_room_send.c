// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The room as a send: the effect of its controls, and its promises

#include "send.h"
#include "tests/support/room_rig.h"

static double
energy_db(uint32_t from, uint32_t to)
{
  double sum = 0.0;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = from; i < to; ++i) {
      sum += (double)response[k][i] * (double)response[k][i];
    }
  }
  return 10.0 * log10(0.5 * sum + 1e-30);
}

static void
test_early_late_and_wet(void** state)
{
  (void)state;
  rig r = open_room(RATE_HZ);
  respond(&r, 0);
  const uint32_t mixed = (uint32_t)(0.030 * RATE_HZ);
  const double   head  = energy_db(0, 480);
  const double   tail  = energy_db(mixed, N);
  assert_true(energy_db(0, 140) < -200.0); // Nothing before the first image

  rig_set(&r, "early_db", -12.0);
  respond(&r, 0);
  assert_near(energy_db(0, 480), head - 12.0, 0.1);
  assert_near(energy_db(mixed, N), tail, 0.1);
  rig_set(&r, "early_db", 0.0);
  rig_set(&r, "late_db", 6.0);
  respond(&r, 0);
  assert_near(energy_db(0, 480), head, 0.1);
  assert_near(energy_db(mixed, N), tail + 6.0, 0.1);
  rig_set(&r, "late_db", 0.0);
  rig_set(&r, "wet_db", -20.0);
  respond(&r, 0);
  assert_near(energy_db(0, 480), head - 20.0, 0.01);
  assert_near(energy_db(mixed, N), tail - 20.0, 0.01);
  rig_close(&r);
}

static void
test_predelay_is_a_delay(void** state)
{
  (void)state;
  static float plain[N];
  rig          r = rig_open(&room_send_ops, RATE_HZ, 2, NULL);
  r.st.mute_lines =
    STAGE_NEVER_MUTES; // On grid lines, which 3000 frames are not
  respond(&r, 1);
  memcpy(plain, response[0], sizeof(plain));
  rig_set(&r, "predelay_ms", 62.5);
  respond(&r, 1);
  for (uint32_t i = 0; i < N - 3000; ++i) {
    assert_true(response[0][i + 3000] == plain[i]);
  }
  rig_close(&r);
}

static void
test_dry_passes_exactly(void** state)
{
  (void)state;
  promise_dry_passes_exactly(&room_send_ops);
}

/// The longest decay, at the highest levels
static rig
worst_room(void)
{
  rig r = open_room(RATE_HZ);
  rig_set(&r, "room", 2.0);
  rig_set(&r, "volume_m3", 400.0);
  rig_set(&r, "decay_pc", 200.0);
  rig_set(&r, "distance_m", 4.0);
  rig_set(&r, "early_db", 6.0);
  rig_set(&r, "late_db", 6.0);
  rig_set(&r, "wet_db", 12.0);
  return r;
}

/// Returns the RMS over `seconds` of noise or silence
static double
run_for(rig* r, uint32_t seconds, float level, uint32_t* seed)
{
  enum { BLOCK = 480 };
  double sum = 0.0;
  for (uint32_t block = 0; block < 100 * seconds; ++block) {
    float x[2][BLOCK];
    for (uint32_t i = 0; i < BLOCK; ++i) {
      x[0][i] = level * check_noise(seed);
      x[1][i] = level * check_noise(seed);
    }
    rig_play(r, x[0], x[1], BLOCK);
    for (uint32_t i = 0; i < BLOCK; ++i) {
      sum += (double)x[0][i] * (double)x[0][i];
    }
  }
  return gain_to_db(sqrt(sum / (seconds * RATE_HZ)) + 1e-12);
}

static void
test_nothing_grows(void** state)
{
  (void)state;
  // Ten minutes of full-scale noise: the last minute is as loud as the first
  rig      r    = worst_room();
  uint32_t seed = 6;
  (void)run_for(&r, 5, 1.0F, &seed);
  const double first = run_for(&r, 60, 1.0F, &seed);
  (void)run_for(&r, 475, 1.0F, &seed);
  const double last = run_for(&r, 60, 1.0F, &seed);
  print_message("# first minute %.2f dBFS, last %.2f\n", first, last);
  assert_near(last, first, 0.1);
  // Silence after it: below -140 dBFS in three decay times.  The longest of the
  // live room is 0.93 s, twice that, in a room with edges 1.81 times as long
  const double t60 = 2.0 * 0.93 * cbrt(400.0 / ROOM_VOLUME_M3);
  (void)run_for(&r, (uint32_t)(3.0 * t60) + 1, 0.0F, &seed);
  const double after = run_for(&r, 1, 0.0F, &seed);
  print_message("# after three decay times %.1f dBFS\n", after);
  assert_true(after < -140.0);
  // And exact silence in the end
  (void)run_for(&r, 60, 0.0F, &seed);
  assert_true(run_for(&r, 1, 0.0F, &seed) <= -240.0 + 1e-9);
  rig_close(&r);
}

static void
test_dc_does_not_pass(void** state)
{
  (void)state;
  // 0.5 for 5 s; mean of the last 0.5 s
  rig          r = worst_room();
  static float x[2][4800];
  double       mean = 0.0;
  for (uint32_t block = 0; block < 50; ++block) {
    float* const bus[] = {x[0], x[1]};
    for (uint32_t i = 0; i < 4800; ++i) {
      x[0][i] = x[1][i] = 0.5F;
    }
    stage_process(&r.st, (const float* const*)bus, bus, 2, 4800);
    for (uint32_t i = 0; i < 4800 && block >= 45; ++i) {
      mean += (double)x[0][i] / 24000.0;
    }
  }
  assert_true(gain_to_db(fabs(mean) + 1e-12) < -80.0);
  rig_close(&r);
}

static void
test_a_new_room_opens_without_a_hole(void** state)
{
  (void)state;
  // Steady noise while the volume jumps: it is in no 20 ms far below both
  // levels; half of the energy is always on its way
  enum { HOP = 960, HOPS = 60 };
  rig      r    = rig_open(&room_send_ops, RATE_HZ, 2, NULL);
  uint32_t seed = 9;
  (void)run_for(&r, 2, 0.1F, &seed);
  *rig_value(&r, "volume_m3") = 200.0F;
  *rig_value(&r, "room")      = 2.0F;
  stage_set(&r.st, r.values);
  double least = 0.0;
  double end   = 0.0;
  for (uint32_t hop = 0; hop < HOPS; ++hop) {
    float        x[2][HOP];
    float* const bus[] = {x[0], x[1]};
    for (uint32_t i = 0; i < HOP; ++i) {
      x[0][i] = x[1][i] = 0.1F * check_noise(&seed);
    }
    stage_process(&r.st, (const float* const*)bus, bus, 2, HOP);
    end   = check_rms_db(x[0], HOP);
    least = fmin(least, end);
  }
  print_message("# least %.1f dBFS, at the end %.1f\n", least, end);
  assert_true(least > end - 7.0);
  rig_close(&r);
}

static void
test_four_mebibytes_are_enough(void** state)
{
  (void)state;
  assert_true(sizeof(room_send) <= 4U << 20U);
}

static void
test_promises(void** state)
{
  (void)state;
  for (uint32_t side = 0; side < 2; ++side) {
    const stage_ops mono = send_as_mono(&room_send_ops, side);
    rig             r    = rig_open(&mono, RATE_HZ, 1, NULL);
    promise_any_blocks(&r, NULL);
    rig_set(&r, "room", 2.0);
    rig_set(&r, "volume_m3", 20.0);
    promise_any_blocks(&r, NULL);
    promise_finite(&mono, 1);
    promise_finite_held(&mono, 1);
    assert_int_equal(r.st.ops->latency_frames(r.st.state), 0);
    rig_close(&r);
  }
}

static void
test_no_click(void** state)
{
  (void)state;
  for (uint32_t side = 0; side < 2; ++side) {
    const stage_ops mono = send_as_mono(&room_send_ops, side);
    rig             r    = rig_open(&mono, RATE_HZ, 1, NULL);
    promise_no_click(&r);
    *rig_value(&r, "room")       = 2.0F;
    *rig_value(&r, "decay_pc")   = 200.0F;
    *rig_value(&r, "distance_m") = 4.0F;
    promise_no_click(&r);
    rig_close(&r);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_early_late_and_wet),
    cmocka_unit_test(test_predelay_is_a_delay),
    cmocka_unit_test(test_dry_passes_exactly),
    cmocka_unit_test(test_nothing_grows),
    cmocka_unit_test(test_dc_does_not_pass),
    cmocka_unit_test(test_a_new_room_opens_without_a_hole),
    cmocka_unit_test(test_four_mebibytes_are_enough),
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_no_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
