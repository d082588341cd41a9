// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plate as a send: the effect of its controls

#include "plate_rig.h"

static void
test_pre_delay_is_a_delay(void** state)
{
  (void)state;
  static float plain[2][N];
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig r = open_plate(RATE_HZ);
    rig_set(&r, "quality", quality);
    respond(&r, 1.0, 1.0);
    memcpy(plain, response, sizeof(plain));
    rig_set(&r, "predelay_ms", 101.6875);
    respond(&r, 1.0, 1.0);
    for (uint32_t k = 0; k < 2; ++k) {
      for (uint32_t i = 0; i < 4881; ++i) {
        assert_true(response[k][i] == 0.0F);
      }
      for (uint32_t i = 0; i < N - 4881; ++i) {
        // The first wave has a peak of 4e-3; blocks fall elsewhere now
        assert_near((double)response[k][i + 4881], (double)plain[k][i], 1e-7);
      }
    }
    rig_close(&r);
  }
}

static void
test_dry_passes_exactly(void** state)
{
  (void)state;
  promise_dry_passes_exactly(&plate_send_ops);
}

static void
test_wet_is_plain_gain(void** state)
{
  (void)state;
  rig r = open_plate(RATE_HZ);
  respond(&r, 1.0, 1.0);
  const double home = energy_db(response[0], 0, N);
  rig_set(&r, "wet_db", -20.0);
  respond(&r, 1.0, 1.0);
  assert_near(energy_db(response[0], 0, N), home - 20.0, 1e-3);
  rig_set(&r, "wet_db", 12.0);
  respond(&r, 1.0, 1.0);
  assert_near(energy_db(response[0], 0, N), home + 12.0, 1e-3);
  rig_close(&r);
}

/// Returns the level of pink noise of 100 Hz to 5 kHz at output `k` over that
/// at the input: the mean of the squared response over the logarithm of the
/// frequency.  From third octaves, IEC 61260-1, base 10, each of which holds
/// its share of the response's energy.
static double
pink_level_db(uint32_t k)
{
  static double y[N];
  double        sum = 0.0;
  for (uint32_t i = 0; i < 17; ++i) {
    // Octave filters overlap by two thirds; each counts the band around it
    const double f_hz = 112.0 * pow(10.0, 0.1 * i);
    octave(response[k], y, N, f_hz, RATE_HZ);
    // Width of noise after Butterworth edges of order 4: (pi/8) / sin(pi/8)
    const double width_hz =
      1.0262 * f_hz * (pow(10.0, 0.15) - pow(10.0, -0.15));
    sum += energy_of(y, 0, N) / (2.0 * width_hz / RATE_HZ) / 17.0;
  }
  return 10.0 * log10(sum);
}

static void
test_level_is_steady_over_decay(void** state)
{
  (void)state;

  // 0 dB for any decay whose response fits into 3 s, and any width
  static const double cases[][3] = {{0.5, 100, 100}, {0.5, 200, 20},
                                    {1.0, 50, 55},   {1.8, 120, 55},
                                    {2.5, 100, 40},  {2.5, 50, 20}};
  rig                 r          = open_plate(RATE_HZ);
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig_set(&r, "quality", quality);
    for (uint32_t i = 0; i < 6; ++i) {
      rig_set(&r, "decay_s", cases[i][0]);
      rig_set(&r, "low_decay_pc", cases[i][1]);
      rig_set(&r, "high_decay_pc", cases[i][2]);
      rig_set(&r, "width_pc", 100.0 - 20.0 * i);
      respond(&r, 1.0, 1.0);
      print_message("# %g s, %g %%, %g %%: %.2f, %.2f dB\n", cases[i][0],
                    cases[i][1], cases[i][2], pink_level_db(0),
                    pink_level_db(1));
      assert_near(pink_level_db(0), 0.0, 1.0);
      assert_near(pink_level_db(1), 0.0, 1.0);
    }
  }
  rig_close(&r);
}

static void
test_nothing_of_a_stereo_send_is_lost(void** state)
{
  (void)state;

  // Each input alone, and both in phase or out of phase: each has the energy of
  // its input, at both outputs
  rig r = open_plate(RATE_HZ);
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig_set(&r, "quality", quality);
    respond(&r, 1.0, 1.0);
    const double home[2] = {energy_db(response[0], 0, N),
                            energy_db(response[1], 0, N)};
    for (uint32_t k = 0; k < 2; ++k) {
      respond(&r, 1.0, -1.0);
      assert_near(energy_db(response[k], 0, N), home[k], 1.0);
      respond(&r, 1.0, 0.0);
      assert_near(energy_db(response[k], 0, N), home[k] - 3.01, 1.0);
      respond(&r, 0.0, 1.0);
      assert_near(energy_db(response[k], 0, N), home[k] - 3.01, 1.0);
    }
  }
  rig_close(&r);
}

static void
test_width(void** state)
{
  (void)state;

  // The side relative to the mid follows the width; 0 is mono, bit for bit
  rig r = open_plate(RATE_HZ);
  for (int width = 100; width >= 0; width -= 25) {
    rig_set(&r, "width_pc", width);
    respond(&r, 1.0, 1.0);
    double mid  = 0.0;
    double side = 1e-30;
    for (uint32_t i = 0; i < N; ++i) {
      const double l = (double)response[0][i];
      const double d = (double)response[1][i];
      mid += (l + d) * (l + d);
      side += (l - d) * (l - d);
    }
    if (width) {
      assert_near(10.0 * log10(side / mid), 20.0 * log10(0.01 * width), 0.5);
    } else {
      assert_memory_equal(response[0], response[1], sizeof(response[0]));
    }
  }
  rig_close(&r);
}

static void
test_cuts_and_treble(void** state)
{
  (void)state;

  // Butterworth of order 2, and a shelf that has half its gain at 3.5 kHz,
  // before a plate that stays the same: the ratio of two responses in an
  // octave.  Wanted: the means over the octave of 1 / (1 + (fc / f)^4) and its
  // like, relative to those at the wide setting (computed with numpy).
  static double x[N];
  static const struct {
    const char* symbol;
    double      home, value, f_hz, want_db;
  } cases[] = {
    {"low_cut_hz", 20.0, 500.0, 250.0, -9.20},
    {"low_cut_hz", 20.0, 500.0, 1000.0, -0.35},
    {"high_cut_hz", 10000.0, 2000.0, 4000.0, -10.86},
    {"treble_db", 0.0, 9.0, 500.0, 0.01},
    {"treble_db", 0.0, 9.0, 8000.0, 8.29},
    {"treble_db", 0.0, -6.0, 8000.0, -5.50},
  };
  rig r = open_plate(RATE_HZ);
  for (uint32_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    double db[2];
    for (uint32_t k = 0; k < 2; ++k) {
      rig_set(&r, cases[i].symbol, k ? cases[i].value : cases[i].home);
      respond(&r, 1.0, 1.0);
      octave(response[0], x, N, cases[i].f_hz, RATE_HZ);
      db[k] = 10.0 * log10(energy_of(x, 0, N));
    }
    rig_set(&r, cases[i].symbol, cases[i].home);
    print_message("# %s %g at %g Hz: %.2f dB\n", cases[i].symbol,
                  cases[i].value, cases[i].f_hz, db[1] - db[0]);
    assert_near(db[1] - db[0], cases[i].want_db, 0.5);
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_pre_delay_is_a_delay),
    cmocka_unit_test(test_dry_passes_exactly),
    cmocka_unit_test(test_wet_is_plain_gain),
    cmocka_unit_test(test_level_is_steady_over_decay),
    cmocka_unit_test(test_nothing_of_a_stereo_send_is_lost),
    cmocka_unit_test(test_width),
    cmocka_unit_test(test_cuts_and_treble),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
