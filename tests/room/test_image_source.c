// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Mirror images of a source in a room: how many, when, how strong

#include "tests/support/check.h"

#include "common/core/air.h"
#include "common/room/image_source.h"

#include <string.h>

enum { MOST = 20000 };

static image_source images[MOST];

static const point_m room       = {5.6, 4.3, 2.8};
static const point_m source     = {1.9, 2.1, 1.1};
static const point_m microphone = {2.9, 2.4, 1.2};

static uint32_t
within(double longest_m)
{
  const uint32_t n =
    image_sources(room, source, microphone, longest_m, images, MOST);
  assert_true(n <= MOST);
  return n;
}

static void
test_number_of_images_of_an_order(void** state)
{
  (void)state;
  // H. Kuttruff, "Room Acoustics", eq. 9.23: (2/3)(2 i^3 + 3 i^2 + 4 i) images
  // up to order i
  static const uint32_t order[] = {1, 2, 3, 5, 10};
  static const uint32_t want[]  = {6, 24, 62, 230, 1560};
  const uint32_t        n       = within(62.0); // Holds all of order 10
  for (uint32_t k = 0; k < 5; ++k) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < n; ++i) {
      count += images[i].order >= 1 && images[i].order <= order[k];
    }
    assert_int_equal(count, want[k]);
  }
}

static int
by_path(const void* a, const void* b)
{
  const float pa = ((const image_source*)a)->path_m;
  const float pb = ((const image_source*)b)->path_m;
  return (pa > pb) - (pa < pb);
}

static void
test_times_of_the_first(void** state)
{
  (void)state;
  // Mirror points by hand, e.g. the floor: (1.9, 2.1, -1.1); direct first.  At
  // 343 m/s, within a sample of 48 kHz.
  static const double want_ms[] = {3.06,  7.36,  10.09, 12.31,
                                   13.44, 14.01, 14.02, 15.02};
  const uint32_t      n         = within(15.0);
  qsort(images, n, sizeof(images[0]), by_path);
  for (uint32_t i = 0; i < 8; ++i) {
    assert_near(1e3 * (double)images[i].path_m / SPEED_OF_SOUND_M_S, want_ms[i],
                0.021);
  }
  assert_int_equal(images[0].order, 0);
  assert_int_equal(images[1].order, 1);
}

static void
test_hits_before_40_ms(void** state)
{
  (void)state;
  // Kuttruff, eq. 4.6: 4 pi c^3 t^3 / (3 V) = 160.4 on average; counted by
  // computing all mirror points in numpy: 162, the direct sound included
  const uint32_t n = within(0.040 * SPEED_OF_SOUND_M_S);
  assert_int_equal(n, 162);
  const double theory = 4.0 / 3.0 * DSP_PI *
                        pow(0.040 * SPEED_OF_SOUND_M_S, 3.0) /
                        (room.x * room.y * room.z);
  assert_near(n / theory, 1.0, 0.03);
}

static void
test_energy_follows_the_density(void** state)
{
  (void)state;
  // Sum of 1/(4 pi r)^2 in a shell, without losses: c dt / (4 pi V)
  const uint32_t n    = within(60.0);
  double         sum  = 0.0;
  const double   from = 40.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double r = (double)images[i].path_m;
    sum += r >= from ? 1.0 / (16.0 * DSP_PI * DSP_PI * r * r) : 0.0;
  }
  const double want = (60.0 - from) / (4.0 * DSP_PI * room.x * room.y * room.z);
  assert_near(10.0 * log10(sum / want), 0.0, 0.1);
}

static void
test_writes_no_more_than_asked(void** state)
{
  (void)state;
  memset(images, 0, sizeof(images));
  const uint32_t n = image_sources(room, source, microphone,
                                   0.040 * SPEED_OF_SOUND_M_S, images, 100);
  assert_int_equal(n, 162);
  assert_true(images[99].path_m > 0.0F);
  assert_true(images[100].path_m == 0.0F);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_number_of_images_of_an_order),
    cmocka_unit_test(test_times_of_the_first),
    cmocka_unit_test(test_hits_before_40_ms),
    cmocka_unit_test(test_energy_follows_the_density),
    cmocka_unit_test(test_writes_no_more_than_asked),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
