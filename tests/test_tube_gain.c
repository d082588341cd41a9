// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A triode stage in time: against textbook formulas, and against the ordinary
/// differential equations of the circuit solved by scipy.
///
/// "Computed twice": by two separately written programs with the same
/// equations.  LSODA: scipy.integrate.solve_ivp(method='LSODA', rtol=1e-8,
/// atol=1e-10, max_step=1/(40 f)), scipy 1.10, of the circuit with every
/// capacitor as a state and the tube solved by brentq.

#include "tube_rig.h"

#include "common/tube_voice.h"

static tube_rig rig;

// Whole samples in a period of 82 Hz
#define RATE_82_HZ (82.0 * 2340.0)

static void
test_operating_point(void** state)
{
  (void)state;
  // Computed twice
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  assert_near(1e3 * rig.rest.at.ia, 0.8695, 0.0004);
  assert_near(rig.rest.at.va, 163.05, 0.08);
  assert_near(rig.rest.at.vk, 1.3043, 0.0007);

  // Silence from the first sample on
  rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
  static double y[19200];
  rig_sines(&rig, 0.0, 0.0, 0.0, 0.0, y, 19200);
  for (uint32_t i = 0; i < 19200; ++i) {
    assert_near(y[i], 0.0, 2e-4);
  }
}

// Textbook: Terman, "Radio Engineering"; Langford-Smith, "Radio Designer's
// Handbook", 4th ed., ch. 12, re-derived.  With mu 101.03, rp 65.84 kohm at the
// operating point (computed twice).

#define MU     101.03
#define RP_OHM 65.84e3

static void
test_gains_of_the_textbook(void** state)
{
  (void)state;
  const double load = tube_parts_plate_ohm(&rig_stage);
  const double pad  = 1e6 / 1.038e6; // Source and grid leak
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);

  // A = -mu RL / (rp + RL)
  rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
  const double bypassed = MU * load / (RP_OHM + load);
  assert_near(bypassed, 54.38, 0.01); // Computed twice
  assert_near(rig_gain(&rig, 1000.0) / (pad * bypassed), 1.0, 0.003);

  // A = -mu RL / (rp + RL + (mu + 1) Rk): the slope at rest while the cathode
  // follows the current
  const double open = MU * load / (RP_OHM + load + (MU + 1.0) * 1500.0);
  assert_near(open, 26.23, 0.01); // Computed twice
  const tube_solution s =
    tube_table_at(&rig.table, rig.rest.at.a, rig.rest.at.b);
  // d ia = S_a (du - Rk dia) - S_b Rk dia
  const double slope = s.ia_a / (1.0 + 1500.0 * (s.ia_a + s.ia_b));
  assert_near(load * slope / open, 1.0, 0.003);
}

static void
test_small_signal_response(void** state)
{
  (void)state;
  // Formulas, computed twice, V per V.  Coupling corners: 7.0 and 19.6 Hz
  static const double at[][2] = {{20, 32.288},
                                 {82.4, 50.412},
                                 {200, 52.042},
                                 {1000, 52.376},
                                 {10000, 52.390}};
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 5; ++i) {
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
    assert_near(gain_to_db(rig_gain(&rig, at[i][0]) / at[i][1]), 0.0, 0.02);
  }
}

static void
test_cathode_shelf(void** state)
{
  (void)state;
  // Zero 1 / (2 pi Rk Ck), pole 1 / (2 pi Ck (Rk || (rp + RL) / (mu + 1))):
  // 156 and 323.5 Hz with 0.68 uF.  Computed twice.
  static const double at[][3] = {{0.68e-6, 20, 17.735},
                                 {0.68e-6, 200, 34.661},
                                 {0.68e-6, 1000, 50.418},
                                 {1e-6, 82.4, 28.985}};
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 4; ++i) {
    tube_parts p = rig_stage;
    p.cathode_f  = at[i][0];
    rig_start(&rig, &p, TUBE_OUT_LOAD, RIG_RATE_HZ);
    assert_near(gain_to_db(rig_gain(&rig, at[i][1]) / at[i][2]), 0.0, 0.02);
  }
}

static void
test_input_capacitance(void** state)
{
  (void)state;
  // One pole at 1 / (2 pi (Rs || Rg) Cin)
  tube_parts p = rig_stage;
  p.input_f    = 105e-12;
  rig_table(&rig, &p, RIG_SUPPLY_V);
  rig_start(&rig, &p, TUBE_OUT_LOAD, RIG_RATE_HZ);
  const double low  = rig_gain(&rig, 1000.0);
  const double pole = 1.0 / (2.0 * DSP_PI * 36.609e3 * 105e-12);
  rig_start(&rig, &p, TUBE_OUT_LOAD, RIG_RATE_HZ);
  const double corner = rig_gain(&rig, 10000.0);
  assert_near(gain_to_db(corner / low),
              -10.0 * log10(1.0 + pow(10000.0 / pole, 2.0)), 0.03);
}

static void
test_power_law(void** state)
{
  (void)state;
  // Weakly driven, H2 rises with the drive and H3 with its square (6.02, 12.04
  // dB per doubling); levels computed twice
  static const double at[][3] = {
    {0.05, -51.64, -87.33}, {0.1, -45.62, -75.28}, {0.2, -39.60, -63.21}};
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 3; ++i) {
    double db[4];
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
    (void)rig_harmonics(&rig, 1000.0, at[i][0], 1.0, 0.1, db);
    assert_near(db[0], at[i][1], 0.05);
    assert_near(db[1], at[i][2], 0.3);
  }
}

/// A case of the differential equations: from rest, the window at the end
typedef struct {
  double f_hz, drive_v, end_s, window_s;
  double first_v, db[4];
  double plate_v; ///< Mean; 0: not compared
} ode_case;

static void
check_ode_case(const ode_case* c, double within_db)
{
  double       db[4];
  const double first = rig_harmonics(&rig, c->f_hz, c->drive_v,
                                     c->end_s - c->window_s, c->window_s, db);
  assert_near(gain_to_db(first / c->first_v), 0.0, within_db);
  for (uint32_t h = 0; h < 4; ++h) {
    if (c->db[h] > -60.0) {
      assert_near(db[h], c->db[h], within_db);
    } else if (c->db[h] > -90.0) {
      assert_near(db[h], c->db[h], 0.5);
    } else {
      assert_below(db[h], -90.0);
    }
  }
}

static const ode_case one_stage[] = {
  {1000,
   0.5,
   0.06,
   0.02,
   25.8051,
   {-31.661, -46.999, -72.820, -89.334},
   162.682},
  {1000,
   2.0,
   0.06,
   0.02,
   68.1558,
   {-13.950, -22.092, -27.106, -40.967},
   181.609},
  {1000,
   10.0,
   0.06,
   0.02,
   64.5633,
   {-3.696, -12.061, -25.061, -14.811},
   202.111},
  {82,
   0.5,
   7.0 / 82,
   2.0 / 82,
   24.8481,
   {-31.680, -46.916, -71.520, -93.655},
   162.706},
  {82,
   2.0,
   7.0 / 82,
   2.0 / 82,
   66.3056,
   {-14.697, -20.991, -27.237, -40.109},
   180.573},
  {82,
   10.0,
   7.0 / 82,
   2.0 / 82,
   64.6118,
   {-3.975, -13.745, -19.872, -14.272},
   200.528},
};

/// Shift of the mean plate voltage
static double
plate_shift(const ode_case* c, double rate_hz)
{
  const double   start_s  = c->end_s - c->window_s;
  const uint32_t n        = (uint32_t)lrint(c->window_s * rate_hz);
  const uint32_t n_settle = (uint32_t)lrint(start_s * rate_hz);
  double* const  y        = malloc(n * sizeof(double));
  assert_non_null(y);
  rig_start(&rig, &rig_stage, TUBE_OUT_SOURCE, rate_hz);
  rig_sines(&rig, c->f_hz, c->drive_v, 0.0, 0.0, NULL, n_settle);
  rig_sines(&rig, c->f_hz, c->drive_v, 0.0, 0.0, y, n);
  double mean = 0.0;
  for (uint32_t k = 0; k < n; ++k) {
    mean += y[k] / n;
  }
  free(y);
  return mean;
}

static void
test_harmonics_of_the_equations(void** state)
{
  (void)state;
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < sizeof(one_stage) / sizeof(one_stage[0]); ++i) {
    const ode_case* const c       = &one_stage[i];
    const double          rate_hz = c->f_hz == 82.0 ? RATE_82_HZ : RIG_RATE_HZ;
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, rate_hz);
    check_ode_case(c, 0.1);
    const double shift = c->plate_v - 163.048;
    assert_near(plate_shift(c, rate_hz), shift, 0.03 * fabs(shift) + 0.03);
  }
}

static void
test_steady_harmonics(void** state)
{
  (void)state;
  // Newton's method at 192 kHz without averaging; computed twice.  The mean
  // over a sample changes no harmonic above -50 dB by more than 0.036 dB.
  static const struct {
    double drive_v, first_v, db[4];
  } rows[] = {
    {1, 48.313, {-25.59, -32.31, -44.7, -51.1}},
    {2, 68.247, {-14.02, -22.01, -27.1, -41.0}},
    {4, 69.376, {-6.82, -38.4, -17.3, -21.7}},
    {10, 64.703, {-3.71, -12.11, -24.9, -14.8}},
  };
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 4; ++i) {
    double db[4];
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
    const double first =
      rig_harmonics(&rig, 1000.0, rows[i].drive_v, 1.2, 0.1, db);
    assert_near(gain_to_db(first / rows[i].first_v), 0.0, 0.08);
    for (uint32_t h = 0; h < 4; ++h) {
      if (rows[i].db[h] > -50.0) {
        assert_near(db[h], rows[i].db[h], 0.12); // Printed to 0.1
      }
    }
  }
}

static void
test_intermodulation(void** state)
{
  (void)state;
  // 700 and 1000 Hz, 0.5 V each; against 1000 Hz; computed twice
  static const double at[][2] = {
    {300, -26.27}, {1700, -26.26}, {400, -34.73}, {1300, -34.75}};
  static double y[19200];
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
  rig_sines(&rig, 700.0, 0.5, 1000.0, 0.5, NULL, 192000);
  rig_sines(&rig, 700.0, 0.5, 1000.0, 0.5, y, 19200);
  const double base = rig_tone(y, 19200, 1000.0, RIG_RATE_HZ);
  for (uint32_t i = 0; i < 4; ++i) {
    assert_near(gain_to_db(rig_tone(y, 19200, at[i][0], RIG_RATE_HZ) / base),
                at[i][1], 0.05);
  }
}

/// Time from the end of a 100 ms burst until a 50 mV probe has come back to -3
/// dB, in ms
static double
recovery_ms(double burst_v)
{
  enum { period = 192, n = 200 };
  static double y[period];
  rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
  rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, NULL, 96000);
  rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, y, period);
  const double whole = rig_tone(y, period, 1000.0, RIG_RATE_HZ);

  rig_sines(&rig, 1000.0, burst_v, 0.0, 0.0, NULL, 19200);
  double last_low = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, y, period);
    // What drifts shows as a ramp: subtract it
    const double slope = (y[period - 1] - y[0]) / (period - 1);
    for (uint32_t k = 0; k < period; ++k) {
      y[k] -= slope * k;
    }
    if (rig_tone(y, period, 1000.0, RIG_RATE_HZ) < whole / sqrt(2.0)) {
      last_low = i + 1.0;
    }
  }
  return last_low;
}

static void
test_blocking(void** state)
{
  (void)state;
  // Grid current has charged the coupling capacitor, which discharges with 22.8
  // ms.  LSODA, read in the same way.
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  assert_near(recovery_ms(10.0), 30.0, 1.0);
  assert_near(recovery_ms(30.0), 54.0, 1.0);
}

static void
test_rate_does_not_matter(void** state)
{
  (void)state;
  static const double rates[] = {176400, 192000, 352800, 384000};
  // 2 V, 1 kHz: dB of H1 to H5 in V; computed twice
  static const double want[] = {36.682, 22.663, 14.674, 9.586, -4.324};
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 4; ++i) {
    double db[4];
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, rates[i]);
    const double first =
      gain_to_db(rig_harmonics(&rig, 1000.0, 2.0, 1.2, 0.1, db));
    assert_near(first, want[0], 0.005);
    for (uint32_t h = 0; h < 4; ++h) {
      // The mean over a sample: cos(pi f / rate)
      const double mean = gain_to_db(cos(DSP_PI * (h + 2) * 1000.0 / rates[i]));
      assert_near(first + db[h] - mean, want[h + 1], 0.03);
    }
  }
}

static void
test_groups_agree(void** state)
{
  (void)state;
  // Prediction over 1, 2 and 4 samples: the same sound
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t group = 1; group <= 4; group *= 2) {
    double db[4];
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
    rig.group          = group;
    const double first = rig_harmonics(&rig, 1000.0, 10.0, 1.2, 0.1, db);
    assert_near(gain_to_db(first / 64.703), 0.0, 0.02);
    assert_near(db[0], -3.71, 0.02);
    assert_near(db[3], -14.80, 0.02);
  }
}

static void
test_vectors_make_the_same_bits(void** state)
{
  (void)state;
  static double wide[3072];
  static double plain[3072];
  for (uint32_t group = 1; group <= 4; group *= 2) {
    rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
    tube_gain g[2][3];
    for (uint32_t k = 0; k < 6; ++k) {
      tube_gain_init(&g[k / 3][k % 3], &rig.table, &rig_stage,
                     k % 3 < 2 ? TUBE_OUT_SOURCE : TUBE_OUT_LOAD, 4e4,
                     RIG_RATE_HZ);
      tube_gain_reset(&g[k / 3][k % 3], &rig.rest.at);
    }
    uint32_t seed = 3;
    for (uint32_t i = 0; i < 3072; ++i) {
      wide[i] = plain[i] =
        i % 512 < 100 ? 0.0 : 8.0 * (double)check_noise(&seed);
    }
    tube_gain_process(g[0], 3, &rig.rest, group, wide, 3072);
    // And cut differently
    tube_gain_process_plain(g[1], 3, &rig.rest, group, plain, 4);
    tube_gain_process_plain(g[1], 3, &rig.rest, group, plain + 4, 3068);
    assert_memory_equal(wide, plain, sizeof(wide));
  }
}

// The first two stages of the preamplifier, without input capacitance, against
// LSODA of both with the real coupling between them: plate 1 loaded by the
// divider and by the grid of stage 2.  Windows: 20 to 30 ms; the fifth period.

static const ode_case two_stages[] = {
  {1000, 0.02, 0.03, 0.01, 6.53326, {-46.491, -72.152, -109.3, -110.2}, 0},
  {1000, 0.1, 0.03, 0.01, 32.04747, {-32.887, -43.537, -65.317, -75.951}, 0},
  {1000, 0.5, 0.03, 0.01, 83.15161, {-26.084, -13.793, -32.964, -24.538}, 0},
  {82, 0.1, 5.0 / 82, 1.0 / 82, 16.34707, {-37.091, -54.344, -83.9, -108.2}, 0},
  {82,
   0.5,
   5.0 / 82,
   1.0 / 82,
   63.08219,
   {-28.837, -19.005, -35.038, -41.203},
   0},
  {82,
   2.0,
   5.0 / 82,
   1.0 / 82,
   84.29773,
   {-34.275, -10.255, -35.773, -16.239},
   0},
};

static void
test_two_stages_of_the_equations(void** state)
{
  (void)state;
  tube_parts first = tube_voice_first_parts;
  tube_parts later = tube_voice_later_parts;
  first.input_f = later.input_f = 0.0;
  rig_table(&rig, &first, TUBE_SUPPLY_V);
  for (uint32_t i = 0; i < sizeof(two_stages) / sizeof(two_stages[0]); ++i) {
    const ode_case* const c       = &two_stages[i];
    const double          rate_hz = c->f_hz == 82.0 ? RATE_82_HZ : RIG_RATE_HZ;
    rig_start(&rig, &first, TUBE_OUT_LOAD, rate_hz);
    rig.n_stages = 2;
    tube_gain_init(&rig.gain[0], &rig.table, &first, TUBE_OUT_SOURCE,
                   TUBE_PLATE_SOURCE_OHM, rate_hz);
    tube_gain_init(&rig.gain[1], &rig.table, &later, TUBE_OUT_LOAD, 0.0,
                   rate_hz);
    tube_gain_reset(&rig.gain[0], &rig.rest.at);
    tube_gain_reset(&rig.gain[1], &rig.rest.at);
    // Far into overdrive the plate's resistance is no longer that at rest
    check_ode_case(c, c->drive_v < 1.0 ? 0.1 : 0.3);
  }
}

static void
test_survives(void** state)
{
  (void)state;
  static const double rates[] = {64000, 192000, 384000};
  static double       y[4096];
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < 6; ++i) {
    tube_parts p = rig_stage;
    p.cathode_f  = i < 3 ? 22e-6 : 0.68e-6;
    rig_start(&rig, &p, TUBE_OUT_LOAD, rates[i % 3]);
    uint32_t seed = 5;
    for (uint32_t k = 0; k < 100; ++k) {
      for (uint32_t j = 0; j < 4096; ++j) {
        y[j] = check_noise(&seed) > 0.0F ? 1000.0 : -1000.0;
      }
      tube_gain_process(rig.gain, 1, &rig.rest, 4, y, 4096);
      for (uint32_t j = 0; j < 4096; ++j) {
        assert_true(fabs(y[j]) < 400.0); // False for NaN
      }
    }
    // And comes back
    rig_sines(&rig, 0.0, 0.0, 0.0, 0.0, NULL,
              (uint32_t)(2.0 * rates[i % 3]) & ~3U);
    rig_sines(&rig, 0.0, 0.0, 0.0, 0.0, y, 4096);
    assert_near(y[4095], 0.0, 0.01);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_operating_point),
    cmocka_unit_test(test_gains_of_the_textbook),
    cmocka_unit_test(test_small_signal_response),
    cmocka_unit_test(test_cathode_shelf),
    cmocka_unit_test(test_input_capacitance),
    cmocka_unit_test(test_power_law),
    cmocka_unit_test(test_harmonics_of_the_equations),
    cmocka_unit_test(test_steady_harmonics),
    cmocka_unit_test(test_intermodulation),
    cmocka_unit_test(test_blocking),
    cmocka_unit_test(test_rate_does_not_matter),
    cmocka_unit_test(test_groups_agree),
    cmocka_unit_test(test_vectors_make_the_same_bits),
    cmocka_unit_test(test_two_stages_of_the_equations),
    cmocka_unit_test(test_survives),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
