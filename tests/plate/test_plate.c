// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The modes of the plate.  Figures: J. Woodhouse, "Euphonics", section 3.2.3,
/// with steel of EN 1993-1-1 3.2.6 (210 GPa, 0.30) and EN 1991-1-1 table A.4
/// (7850 kg/m^3), computed independently with numpy.

#include "tests/support/check.h"

#include "common/plate/plate.h"

#include <string.h>

static void
test_mode_table(void** state)
{
  (void)state;

  static const struct {
    uint32_t m, n;
    double   f_hz;
  } table[] = {{1, 1, 1.5053}, {2, 1, 2.4272},  {3, 1, 3.9638},
               {1, 2, 5.0991}, {10, 5, 60.681}, {40, 20, 970.890}};
  assert_near(plate_stiffness(), 0.78259, 1e-5);
  for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); ++i) {
    const double f_hz = plate_mode_hz(table[i].m, table[i].n);
    assert_near(f_hz / table[i].f_hz, 1.0, 1e-4);
  }
}

static double   all_hz[20000];
static uint32_t n_all;

static void
fill_all(void)
{
  n_all = 0;
  for (uint32_t m = 1; m < 300; ++m) {
    for (uint32_t n = 1; plate_mode_hz(m, n) <= 10000.0; ++n) {
      all_hz[n_all++] = plate_mode_hz(m, n);
    }
  }
}

static uint32_t
count_to(double f_hz)
{
  uint32_t count = 0;
  for (uint32_t i = 0; i < n_all; ++i) {
    count += all_hz[i] <= f_hz;
  }
  return count;
}

static int
compare(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

static void
test_counts(void** state)
{
  (void)state;

  fill_all();
  assert_int_equal(count_to(500.0), 620);
  assert_int_equal(count_to(1000.0), 1248);
  assert_int_equal(count_to(2000.0), 2528);
  assert_int_equal(count_to(5000.0), 6376);
  assert_int_equal(count_to(10000.0), 12813);

  // No two modes coincide, unlike every second one on a plate of 2 to 1
  qsort(all_hz, n_all, sizeof(double), compare);
  for (uint32_t i = 1; i < n_all; ++i) {
    assert_true(all_hz[i] - all_hz[i - 1] > 1e-6);
  }
}

/// Sums over what plate_list_modes() lists
typedef struct {
  uint32_t n, n_low, by_input[2];
  double   power[2], cross, by_input_cross;
  double   least_hz, most_hz;
} listed;

static void
add(void* to, const plate_mode* mode)
{
  listed* const l = to;
  ++l->n;
  l->n_low += mode->f_hz <= 1000.0;
  ++l->by_input[mode->input];
  l->power[0] += mode->gain[0] * mode->gain[0];
  l->power[1] += mode->gain[1] * mode->gain[1];
  l->cross += mode->gain[0] * mode->gain[1];
  l->least_hz = fmin(l->least_hz, mode->f_hz);
  l->most_hz  = fmax(l->most_hz, mode->f_hz);
}

static void
test_list(void** state)
{
  (void)state;

  listed l = {.least_hz = 1e9};
  plate_list_modes(1e9, add, &l);
  assert_int_equal(l.n, 12813 - 20); // Twenty are below 20 Hz
  assert_near(l.n_low, 1248 - 20, 6);
  assert_true(l.least_hz > 19.0);
  assert_true(l.most_hz < 10006.0);

  // sin^2 is 1/2 in the mean, four times over; the outputs do not correlate
  for (uint32_t k = 0; k < 2; ++k) {
    assert_near(l.by_input[k], 0.5 * l.n, 0.01 * l.n);
    assert_near(l.power[k] / l.n, 1.0 / 16.0, 0.03 / 16.0);
  }
  assert_near(l.cross / sqrt(l.power[0] * l.power[1]), 0.0, 0.01);
}

static void
test_every_rate_fits(void** state)
{
  (void)state;

  static const double rates[] = {8000,  9600,  11025,  16000,  20000, 22050,
                                 22100, 24000, 32000,  44100,  48000, 64000,
                                 88200, 96000, 176400, 192000, 384000};
  static plate_modes  bank;
  for (size_t i = 0; i < sizeof(rates) / sizeof(rates[0]); ++i) {
    memset(&bank, 0, sizeof(bank));
    assert_true(plate_modes_init(&bank, rates[i], plate_list_modes));
    listed l = {.n = 0};
    plate_list_modes(PLATE_MODES_TOP * rates[i], add, &l);
    assert_true(4 * bank.n_groups >= l.n);
  }
}

static void
test_level(void** state)
{
  (void)state;

  // Equal times: the mean of 1 / loss is that of any frequency, and the level
  // goes with the root of the time
  const plate_decay one  = {1.0, 1.0, 1.0};
  const plate_decay four = {4.0, 4.0, 4.0};
  assert_near(plate_level(&one, 48000.0) / plate_level(&four, 48000.0), 2.0,
              1e-9);
  // Sum of white noise through 1.2944 modes per Hz of power 1/16:
  // 1 / sqrt(1.29442 48000^2 / (8 16 6.907755)), computed, and 0.6 dB that the
  // low modes lack
  assert_near(plate_level(&one, 48000.0), 5.44497e-4 * 1.07152, 1e-7);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_mode_table), cmocka_unit_test(test_counts),
    cmocka_unit_test(test_list),       cmocka_unit_test(test_every_rate_fits),
    cmocka_unit_test(test_level),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
