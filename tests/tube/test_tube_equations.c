// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Triode stages in time, against the ordinary differential equations of their
/// circuits, solved by scipy 1.10: solve_ivp(method="DOP853", rtol=1e-9 or
/// less, atol=rtol / 10, max_step=1 / (40 f)), every capacitor a state, the
/// tube solved to 1e-14 V by Newton's method in each step; Radau with
/// rtol=1e-10 finds the same to the last digit here.
///
/// Steady state: the last of 400 periods of 1 kHz or 33 of 82 Hz, whole samples
/// in a period, so that the Fourier transform needs no window.

#include "tube_rig.h"

#include "common/tube/tube_voice.h"

static tube_rig rig;

// Whole samples in a period of 82 Hz
#define RATE_82_HZ (82.0 * 2340.0)

static double
rate_for(double f_hz)
{
  return f_hz == 82.0 ? RATE_82_HZ : RIG_RATE_HZ;
}

// Harmonics

typedef struct {
  double f_hz, drive_v;
  double first_v, db[4]; ///< First harmonic; second to fifth against it
} harmonics;

/// Harmonics above -90 dB must be met within `within_db`; the others must stay
/// below that level
static void
check_harmonics(const harmonics* h, uint32_t n_stages, double within_db)
{
  const double rate_hz  = rate_for(h->f_hz);
  const double settle_s = (h->f_hz == 82.0 ? 32.0 : 399.0) / h->f_hz;
  double       db[4];
  const double first =
    rig_harmonics(&rig, h->f_hz, h->drive_v, settle_s, 1.0 / h->f_hz, db);

  // The mean over a sample in each stage takes cos(pi f / rate)
  const double per_hz  = DSP_PI / rate_hz;
  const double mean_db = gain_to_db(cos(h->f_hz * per_hz)) * n_stages;
  assert_near(gain_to_db(first / h->first_v) - mean_db, 0.0, within_db);
  for (uint32_t k = 0; k < 4; ++k) {
    const double taken_db = gain_to_db(cos((k + 2) * h->f_hz * per_hz));
    const double got      = db[k] - taken_db * n_stages + mean_db;
    if (h->db[k] > -90.0) {
      assert_near(got, h->db[k], within_db);
    } else {
      assert_below(got, -90.0);
    }
  }
}

static void
test_harmonics(void** state)
{
  (void)state;
  static const harmonics want[] = {
    {1000, 0.5, 25.80430, {-31.658, -46.999, -72.827, -89.449}},
    {1000, 2.0, 68.24698, {-14.018, -22.007, -27.096, -41.006}},
    {1000, 10., 64.70329, {-3.708, -12.113, -24.868, -14.793}},
    {82, 0.5, 24.84137, {-31.694, -47.063, -72.659, -88.887}},
    {82, 2.0, 66.34399, {-14.743, -20.935, -27.216, -40.085}},
    {82, 10.0, 64.68792, {-3.985, -13.789, -19.805, -14.267}},
  };
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < sizeof(want) / sizeof(want[0]); ++i) {
    rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, rate_for(want[i].f_hz));
    check_harmonics(&want[i], 1, 0.05);
  }
}

/// The first two stages of the preamplifier, without input capacitance
static void
start_two_stages(double rate_hz)
{
  tube_parts first = tube_voice_first_parts;
  tube_parts later = tube_voice_later_parts;
  first.input_f = later.input_f = 0.0;
  rig_start(&rig, &first, TUBE_OUT_LOAD, rate_hz);
  rig.n_stages = 2;
  tube_gain_init(&rig.gain[0], &rig.table, &first, TUBE_OUT_SOURCE,
                 TUBE_PLATE_SOURCE_OHM, rate_hz, TUBE_GROUP_MAX);
  tube_gain_init(&rig.gain[1], &rig.table, &later, TUBE_OUT_LOAD, 0.0, rate_hz,
                 TUBE_GROUP_MAX);
  tube_gain_reset(&rig.gain[0], &rig.rest.at);
  tube_gain_reset(&rig.gain[1], &rig.rest.at);
}

static void
test_harmonics_of_two_stages(void** state)
{
  (void)state;
  // With the real coupling between them: plate 1 is loaded by the divider and
  // by the grid of stage 2, whose current the model knows only through the
  // resistance of its source
  static const harmonics want[] = {
    {1000, 0.1, 32.03754, {-32.834, -43.569, -65.404, -76.021}},
    {1000, 0.5, 83.15668, {-25.755, -13.807, -32.588, -24.552}},
    {1000, 2.0, 93.87534, {-27.632, -10.299, -32.382, -15.494}},
    {1000, 10., 95.52727, {-39.862, -9.585, -40.544, -14.111}},
    {82, 0.1, 16.34750, {-37.098, -54.361, -83.960, -104.694}},
    {82, 0.5, 63.09200, {-28.853, -19.009, -35.033, -41.224}},
    {82, 2.0, 84.31706, {-34.237, -10.255, -35.930, -16.239}},
    {82, 10.0, 87.44614, {-27.419, -9.011, -31.131, -13.595}},
  };
  rig_table(&rig, &tube_voice_first_parts, TUBE_SUPPLY_V);
  for (uint32_t i = 0; i < sizeof(want) / sizeof(want[0]); ++i) {
    start_two_stages(rate_for(want[i].f_hz));
    check_harmonics(&want[i], 2, 0.15);
  }
}

// What the capacitors do

/// Mean voltages relative to rest: plate, cathode, coupling capacitor
typedef struct {
  double plate_v, cathode_v, coupling_v;
} shifts;

/// Over the last `window_s` of `end_s`
static shifts
shifts_of(double f_hz, double drive_v, double end_s, double window_s)
{
  const double   rate_hz  = rate_for(f_hz);
  const uint32_t n        = (uint32_t)lrint(window_s * rate_hz) / 4;
  const uint32_t n_settle = (uint32_t)lrint((end_s - window_s) * rate_hz) & ~3U;
  shifts         mean     = {0};
  rig_start(&rig, &rig_stage, TUBE_OUT_SOURCE, rate_hz);
  rig_sines(&rig, f_hz, drive_v, 0.0, 0.0, NULL, n_settle);
  for (uint32_t i = 0; i < n; ++i) {
    double y[4];
    rig_sines(&rig, f_hz, drive_v, 0.0, 0.0, y, 4);
    mean.plate_v += 0.25 * (y[0] + y[1] + y[2] + y[3]) / n;
    mean.cathode_v += rig.gain[0].memory.cap[TUBE_CATHODE] / n;
    // What the grid current did to it, and what the source did
    mean.coupling_v +=
      (rig.gain[0].memory.cap[TUBE_COUPLING] + rig.gain[0].memory.low[0]) / n;
  }
  return mean;
}

static void
check_shifts(shifts got, shifts want)
{
  assert_near(got.plate_v / want.plate_v, 1.0, 0.01);
  assert_near(got.cathode_v / want.cathode_v, 1.0, 0.01);
  assert_near(got.coupling_v / want.coupling_v, 1.0, 0.01);
}

static void
test_shifts(void** state)
{
  (void)state;
  static const struct {
    double f_hz, drive_v;
    shifts early; ///< Last 2 of 7 periods of 82 Hz, or 20 of 60 of 1 kHz
    shifts late;  ///< Steady
  } rows[] = {
    {1000, 0.5, {-0.3660, 0.00491, 0.00161}, {-0.3549, 0.00533, 0.00135}},
    {1000, 2.0, {18.5604, -0.20963, 0.91112}, {18.4019, -0.27457, 0.97374}},
    {1000, 10., {39.0629, -0.43348, 7.21161}, {39.0126, -0.57416, 7.34956}},
    {82, 0.5, {-0.3423, 0.00354, 0.00298}, {-0.3445, 0.00517, 0.00127}},
    {82, 2.0, {17.5243, -0.22596, 0.87837}, {17.4121, -0.25981, 0.91051}},
    {82, 10.0, {37.4796, -0.47724, 6.84082}, {37.4143, -0.55084, 6.91170}},
  };
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  for (uint32_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const double f     = rows[i].f_hz;
    const double drive = rows[i].drive_v;
    const bool   low   = f == 82.0;
    check_shifts(
      shifts_of(f, drive, (low ? 7.0 : 60.0) / f, (low ? 2.0 : 20.0) / f),
      rows[i].early);
    check_shifts(shifts_of(f, drive, (low ? 33.0 : 400.0) / f, 1.0 / f),
                 rows[i].late);
  }
}

/// Level of a period, in dB
static double
period_db(double* y, uint32_t n)
{
  // A drift shows as a ramp: subtract it
  const double slope = (y[n - 1] - y[0]) / (n - 1);
  for (uint32_t k = 0; k < n; ++k) {
    y[k] -= slope * k;
  }
  return gain_to_db(rig_tone(y, n, 1000.0, RIG_RATE_HZ));
}

/// Time from the end of a 100 ms burst until a 50 mV probe has come back to -3
/// dB, in ms: between the middles of two periods
static double
recovery_ms(double burst_v)
{
  enum { period = 192, n = 200 };
  static double y[period];
  rig_start(&rig, &rig_stage, TUBE_OUT_LOAD, RIG_RATE_HZ);
  rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, NULL, 96000);
  rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, y, period);
  const double goal = period_db(y, period) - 10.0 * log10(2.0);

  rig_sines(&rig, 1000.0, burst_v, 0.0, 0.0, NULL, 19200);
  double at     = 0.0;
  double before = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    rig_sines(&rig, 1000.0, 0.05, 0.0, 0.0, y, period);
    const double now = period_db(y, period);
    if (i && before < goal && now >= goal) {
      at = i - 0.5 + (goal - before) / (now - before);
    }
    before = now;
  }
  return at;
}

static void
test_recovery(void** state)
{
  (void)state;
  // Grid current has charged the coupling capacitor, which discharges with 22.8
  // ms.  Values of the differential equations, read in the same way.
  rig_table(&rig, &rig_stage, RIG_SUPPLY_V);
  assert_near(recovery_ms(10.0) / 30.474, 1.0, 0.01);
  assert_near(recovery_ms(30.0) / 54.534, 1.0, 0.01);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_harmonics),
    cmocka_unit_test(test_harmonics_of_two_stages),
    cmocka_unit_test(test_shifts),
    cmocka_unit_test(test_recovery),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
