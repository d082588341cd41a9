// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The model of a room: its walls' decay, its size, and who stands where

#include "tests/support/walls.h"

#define C_M_S 343.0

static double
law_of(const void* law, double f_hz)
{
  return decay_law_s((const decay_law*)law, f_hz);
}

static void
test_laws_are_the_walls(void** state)
{
  (void)state;
  for (room_kind kind = ROOM_CONTROL; kind <= ROOM_LIVE; ++kind) {
    const decay_law law = room_decay(kind);
    for (uint32_t b = 0; b < BANDS; ++b) {
      const double got  = decay_in_octave_s(law_of, &law, band_hz[b]);
      const double want = eyring_in_octave_s(kind, b);
      print_message("# %5.0f Hz: %.3f s, Eyring %.3f\n", band_hz[b], got, want);
      assert_near(got / want, 1.0, 0.025);
    }
  }
}

static void
test_control_room_is_one(void** state)
{
  (void)state;
  // EBU Tech 3276 (2nd ed., 1998), section 2.3: Tm = 0.25 (V / 100)^(1/3) s,
  // within 0.05 s from 200 Hz to 4 kHz
  const double    tm  = 0.25 * cbrt(ROOM_VOLUME_M3 / 100.0);
  const decay_law law = room_decay(ROOM_CONTROL);
  assert_near(tm, 0.219, 0.001);
  for (int i = 0; i <= 60; ++i) {
    const double f_hz = 200.0 * pow(20.0, i / 60.0);
    assert_near(decay_law_s(&law, f_hz), tm, 0.05);
  }
}

static void
test_sizes(void** state)
{
  (void)state;
  // 5.6 x 4.3 x 2.8 m: 4 V / S = 2.60 m, 7.6 ms; Lindau, Kosanke, Weinzierl
  // (2012): 25.0 ms.  Eight times the volume has edges twice as long.
  assert_near(room_mean_path_s(ROOM_VOLUME_M3) * C_M_S, 2.603, 0.001);
  assert_near(room_mixing_s(ROOM_VOLUME_M3), 0.0250, 0.0001);
  assert_near(room_scale(8.0 * ROOM_VOLUME_M3), 2.0, 1e-12);
  for (int i = 0; i <= 10; ++i) {
    const double      v = 20.0 * pow(20.0, 0.1 * i);
    const room_layout r = room_layout_of(v, 1.5, 0.8);
    assert_near(r.size.x * r.size.y * r.size.z, v, 1e-3 * v);
    assert_near(r.distance_m, 1.5, 0.01);
  }
}

static double
distance(point_m a, point_m b)
{
  const double x = a.x - b.x;
  const double y = a.y - b.y;
  const double z = a.z - b.z;
  return sqrt(x * x + y * y + z * z);
}

/// Distance to the nearest wall
static double
from_wall_m(point_m p, point_m size)
{
  const double x = fmin(p.x, size.x - p.x);
  const double y = fmin(p.y, size.y - p.y);
  const double z = fmin(p.z, size.z - p.z);
  return fmin(x, fmin(y, z));
}

static void
test_nobody_stands_in_a_wall(void** state)
{
  (void)state;
  double least_m = 1.0;
  for (int i = 0; i < 1000; ++i) {
    const double      v = 20.0 * pow(20.0, (i % 10) / 9.0);
    const double      d = 0.3 + 3.7 * (i / 10 % 10) / 9.0;
    const double      s = 0.1 + 1.9 * (i / 100 % 10) / 9.0;
    const room_layout r = room_layout_of(v, d, s);
    for (uint32_t k = 0; k < 2; ++k) {
      least_m = fmin(least_m, from_wall_m(r.source[k], r.size));
      least_m = fmin(least_m, from_wall_m(r.microphone[k], r.size));
    }
    assert_true(distance(r.microphone[0], r.microphone[1]) < s + 1e-3);
    assert_true(r.distance_m < d + 1e-3);
  }
  // As close as they may, where there is no more room
  assert_near(least_m, 0.15, 0.001);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_laws_are_the_walls),
    cmocka_unit_test(test_control_room_is_one),
    cmocka_unit_test(test_sizes),
    cmocka_unit_test(test_nobody_stands_in_a_wall),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
