// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The loudspeaker's curve by its shape and within bounds that others give; the
// cabinet's movements by what they are told

#include "tests/support/check.h"

#include "common/speaker/cabinet.h"

#include <string.h>

#define MAX_FRAMES 200000

static cabinet box;
static float   wave[MAX_FRAMES];

static double
measured_db(double f_hz, uint32_t n, double rate_hz)
{
  return gain_to_db(0.5 * n * check_tone(wave, n, f_hz, rate_hz));
}

static void
begin_impulse(uint32_t n, float peak)
{
  memset(wave, 0, n * sizeof(float));
  wave[0] = peak;
}

/// Runs what `wave` holds through the cabinet at rest at `line`
static void
run_box(cabinet_line line, uint32_t n)
{
  cabinet_snap(&box, &line);
  cabinet_reset(&box);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    const uint32_t left = n - i;
    float*         at   = wave + i;
    cabinet_push(&box, &line);
    cabinet_process(&box, (const float* const*)&at, &at, 1,
                    left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
}

/// Takes the impulse response of the cabinet at rest at `line`
static uint32_t
impulse(cabinet_line line, double rate_hz)
{
  const uint32_t n = (uint32_t)(0.25 * rate_hz);
  begin_impulse(n, 1.0F);
  run_box(line, n);
  return n;
}

// ---------------------------------------------------------------------------
// The whole loudspeaker: coil and cabinet, for small signals

/// Frequencies from 50 Hz / s to 12.8 kHz / s, 12 per octave, s the diameter
/// over 12 inch: the modes of a cone go with 1 / s
#define N_BANDS 97

static double curve_db[N_BANDS];

/// The same with the modes of the cone averaged out: power over an octave
static double broad_db[N_BANDS];

static double
place_hz(int i)
{
  return 50.0 * exp2(i / 12.0);
}

/// Place of a frequency in the curve
static int
place_of(double f_hz)
{
  return (int)lround(12.0 * log2(f_hz / 50.0));
}

/// Mean power in dB, `half` places to either side of place i
static double
mean_db(int i, int half)
{
  double power = 0.0;
  int    n     = 0;
  for (int k = i - half; k <= i + half; ++k) {
    if (k >= 0 && k < N_BANDS) {
      power += db_to_gain(2.0 * curve_db[k]);
      ++n;
    }
  }
  return 0.5 * gain_to_db(power / n);
}

static void
measure_loudspeaker(cone_size size, bool is_open)
{
  const double       rate_hz = 96000.0;
  const uint32_t     n       = 24000;
  const motor_driver d       = cone_driver(size, is_open);
  static motor       m;
  motor_init(&m, &d, MOTOR_SOURCE_OHM, rate_hz);
  begin_impulse(n, 1e-5F);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    float* at = wave + i;
    motor_process(&m, (const float* const*)&at, &at, 1, CONTROL_FRAMES);
  }
  cabinet_init(&box, size, is_open, rate_hz);
  run_box((cabinet_line){0}, n);
  for (int i = 0; i < N_BANDS; ++i) {
    curve_db[i] = measured_db(place_hz(i) / cone_scale(size), n, rate_hz);
  }
  for (int i = 0; i < N_BANDS; ++i) {
    broad_db[i] = mean_db(i, 6);
  }
}

/// Place of the highest or lowest point of a curve between two frequencies
static int
extreme(const double* db, double from_hz, double to_hz, bool highest)
{
  int at = place_of(from_hz);
  for (int i = at; i <= place_of(to_hz); ++i) {
    const bool is_more = db[i] > db[at];
    at                 = is_more == highest ? i : at;
  }
  return at;
}

/// Ring frequency of a paper cone at radius `r_m`: sqrt(E / rho) cos(a) / (2 pi
/// r), paper of 2 GPa and 600 kg/m^3, half angle 57 degrees (from memory).
/// Above that of the neck no part of the cone moves with the coil any more (H.
/// Frankort, Philips Research Reports Supplements 2, 1975, from memory).
static double
ring_hz(double r_m)
{
  return sqrt(2e9 / 600.0) * cos(57.0 / 180.0 * DSP_PI) / (2.0 * DSP_PI * r_m);
}

/// Checks the curve in frequencies of 12 inch
static void
check_loudspeaker(void)
{
  const int low      = extreme(curve_db, 50.0, 200.0, true);
  const int hollow   = extreme(broad_db, 200.0, 1500.0, false);
  const int presence = extreme(broad_db, 1000.0, 8000.0, true);

  // Resonance from 70 to 110 Hz, presence peak from 2 to 4 kHz, of guitar
  // loudspeakers of 12 inch: common practice
  assert_near(place_hz(low), 90.0, 20.0);
  assert_near(place_hz(presence), 3000.0, 1000.0);

  // 3 to 5 dB above 1 kHz at the presence peak, the hollow before it 3 to 9 dB
  // below both peaks, between 300 and 800 Hz: common practice
  const double rise_db = broad_db[presence] - broad_db[place_of(1000.0)];
  assert_near(rise_db, 4.0, 1.0);
  assert_near(curve_db[low] - broad_db[hollow], 6.0, 3.0);
  assert_near(broad_db[presence] - broad_db[hollow], 6.0, 3.0);
  assert_near(place_hz(hollow), 550.0, 250.0);

  // A band from the resonance to the end of the cone's modes: 6 dB below the
  // presence peak between 4 kHz and the ring frequency of the neck
  int end = presence;
  while (broad_db[end] > broad_db[presence] - 6.0) {
    ++end;
  }
  assert_true(place_hz(end - 1) >= 4000.0);
  assert_true(place_hz(end) <= ring_hz(0.025));

  // From 4 to 8 kHz it falls by 16 to 33 dB, as four sets of recorded guitar
  // amplifiers do (measured, in thirds of an octave)
  const double fall_db =
    mean_db(place_of(4000.0), 2) - mean_db(place_of(8000.0), 2);
  print_message("# low %.0f Hz, hollow %.1f dB at %.0f, presence %+.1f dB at "
                "%.0f, end %.0f Hz, fall %.1f dB\n",
                place_hz(low), curve_db[low] - broad_db[hollow],
                place_hz(hollow), rise_db, place_hz(presence), place_hz(end),
                fall_db);
  assert_near(fall_db, 24.5, 8.5);
}

static void
test_loudspeaker_is_one_for_guitars(void** state)
{
  (void)state;
  for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
    for (int is_open = 0; is_open < 2; ++is_open) {
      measure_loudspeaker((cone_size)size, is_open);
      check_loudspeaker();
    }
  }
}

/// Writes `curve_db` of a cone, on axis
static void
measure_at_192_khz(cone_size size)
{
  cabinet_init(&box, size, false, 192000.0);
  const uint32_t n = impulse((cabinet_line){0}, 192000.0);
  for (int i = 0; i < N_BANDS; ++i) {
    curve_db[i] = measured_db(place_hz(i), n, 192000.0);
  }
}

// The sections are matched: one curve at any rate
static void
test_rates_agree(void** state)
{
  (void)state;
  static const double rates[]    = {44100.0, 48000.0, 96000.0};
  static const double limit_db[] = {0.3, 0.2, 0.02};
  for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
    measure_at_192_khz((cone_size)size);
    for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
      cabinet_init(&box, (cone_size)size, false, rates[r]);
      const uint32_t m     = impulse((cabinet_line){0}, rates[r]);
      double         worst = 0.0;
      for (int i = 0; i <= 96; ++i) {
        const double f     = place_hz(i);
        const double error = measured_db(f, m, rates[r]) - curve_db[i];
        worst              = fmax(worst, f < 12501.0 ? fabs(error) : 0.0);
      }
      print_message("# %6.0f Hz: %.3f dB to 12.5 kHz\n", rates[r], worst);
      assert_near(worst, 0.0, limit_db[r]);
    }
  }
}

// At a low rate, where parts of the curve lie above Nyquist, the rest stays
static void
test_low_rates(void** state)
{
  (void)state;
  static const double rates[] = {8000.0, 11025.0, 16000.0, 22050.0, 32000.0};
  for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
    measure_at_192_khz((cone_size)size);
    for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
      cabinet_init(&box, (cone_size)size, false, rates[r]);
      const uint32_t m    = impulse((cabinet_line){0}, rates[r]);
      double         half = 0.0, all = 0.0;
      for (int i = 0; i < N_BANDS && place_hz(i) < 0.45 * rates[r]; ++i) {
        const double error =
          fabs(measured_db(place_hz(i), m, rates[r]) - curve_db[i]);
        half = place_hz(i) < 0.25 * rates[r] ? fmax(half, error) : half;
        all  = fmax(all, error);
      }
      print_message("# %5.0f Hz: %.2f dB to 0.25, %.2f to 0.45 of it\n",
                    rates[r], half, all);
      assert_near(half, 0.0, 0.8);
      assert_near(all, 0.0, 5.5);
    }
  }
}

// ---------------------------------------------------------------------------
// Movements

/// |H|^2 = 1 / (1 + (f / f0)^8) of a fourth-order Butterworth low-pass, in dB
/// (any filter handbook)
static double
low_pass_db(double f_hz, double f0_hz)
{
  return -10.0 * log10(1.0 + pow(f_hz / f0_hz, 8.0));
}

// Played harder, the presence rises by as many dB as told, what lies below
// stays, and the low-pass (6498 Hz) falls by as many octaves, but not the cap
static void
test_moves(void** state)
{
  (void)state;
  static const double top_hz[] = {4000.0, 6000.0, 8000.0, 10000.0, 12490.0};
  const double        rate_hz  = 192000.0;
  cabinet_init(&box, CONE_12_INCH, false, rate_hz);
  const uint32_t n      = impulse((cabinet_line){0}, rate_hz);
  const double   low_db = measured_db(100.0, n, rate_hz);
  const double   mid_db = measured_db(2600.0, n, rate_hz);
  double         top_db[5];
  for (int k = 0; k < 5; ++k) {
    top_db[k] = measured_db(top_hz[k], n, rate_hz);
  }
  for (int i = 1; i <= 4; ++i) {
    (void)impulse((cabinet_line){.lift_db = 0.5 * i}, rate_hz);
    assert_near(measured_db(2600.0, n, rate_hz) - mid_db, 0.5 * i, 0.01);
    assert_near(measured_db(100.0, n, rate_hz), low_db, 0.01);

    const double fall_oct = 0.15 * i;
    (void)impulse((cabinet_line){.fall_oct = fall_oct}, rate_hz);
    assert_near(measured_db(100.0, n, rate_hz), low_db, 0.01);
    for (int k = 0; k < 5; ++k) {
      const double want = low_pass_db(top_hz[k], 6498.0 * exp2(-fall_oct)) -
                          low_pass_db(top_hz[k], 6498.0);
      assert_near(measured_db(top_hz[k], n, rate_hz) - top_db[k], want, 0.05);
    }
  }
}

/// Frequency of a matched low-pass by its poles: a2 = exp(-w / Q) (M. Vicanek,
/// "Matched second order digital filters", 2016)
static double
corner_hz(double a2, double quality, double rate_hz)
{
  return -log(a2) * quality * rate_hz / (2.0 * DSP_PI);
}

// Moving, the low-pass is the Butterworth design at its present frequency
static void
test_fall(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 192000.0};
  double              worst   = 0.0;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    cabinet_init(&box, CONE_12_INCH, false, rates[r]);
    double(*const now)[CABINET_LANES] = box.now.of;

    const double rest_hz = corner_hz(now[CABINET_A2][CABINET_LOW_PASS_1],
                                     eq_butterworth_q(4, 0), rates[r]);
    for (int i = 0; i <= 60; ++i) {
      const cabinet_line line = {.fall_oct = CABINET_MAX_FALL_OCT * i / 60.0};
      cabinet_snap(&box, &line);
      for (uint32_t k = 0; k < 2; ++k) {
        const uint32_t at   = CABINET_LOW_PASS_1 + k;
        const biquad   want = eq_low_pass(rest_hz * exp2(-line.fall_oct),
                                          eq_butterworth_q(4, k), rates[r]);
        worst = fmax(worst, fabs(now[CABINET_B0][at] / want.b0 - 1.0));
        worst = fmax(worst, fabs(now[CABINET_A1][at] / want.a1 - 1.0));
        worst = fmax(worst, fabs(now[CABINET_A2][at] / want.a2 - 1.0));
      }
    }
  }
  print_message("# low-pass off by up to %.1e of its coefficients\n", worst);
  assert_near(worst, 0.0, 1e-5);
}

/// The far end of all movements
static const cabinet_line far = {2.0, 0.15, 1.0};

static cabinet_line
part_of_way(double share)
{
  return (cabinet_line){.lift_db  = share * far.lift_db,
                        .fall_oct = share * far.fall_oct,
                        .off_axis = share * far.off_axis};
}

// Sliding to a place gives the same as starting there
static void
test_slide(void** state)
{
  (void)state;
  cabinet_init(&box, CONE_12_INCH, false, 48000.0);
  cabinet_snap(&box, &(cabinet_line){0});
  static float slid[4096];
  check_sine(slid, 4096, 3000.0, 0.5, 48000.0);
  for (uint32_t i = 0; i < 4096; i += CONTROL_FRAMES) {
    const cabinet_line line = part_of_way(fmin(i / 2048.0, 1.0));
    float*             at   = slid + i;
    cabinet_push(&box, &line);
    cabinet_process(&box, (const float* const*)&at, &at, 1, CONTROL_FRAMES);
  }
  static float still[4096];
  check_sine(still, 4096, 3000.0, 0.5, 48000.0);
  cabinet_snap(&box, &far);
  cabinet_reset(&box);
  for (uint32_t i = 0; i < 4096; i += CONTROL_FRAMES) {
    float* at = still + i;
    cabinet_push(&box, &far);
    cabinet_process(&box, (const float* const*)&at, &at, 1, CONTROL_FRAMES);
  }
  for (uint32_t i = 3800; i < 4096; ++i) {
    assert_near((double)slid[i], (double)still[i], 1e-6);
  }
}

#define CUT_FRAMES 4800U

/// Plays two channels that differ, in pieces of `piece` frames cut at the grid,
/// while all but the microphone moves
static void
play_cut(float (*x)[CUT_FRAMES], uint32_t n_channels, uint32_t piece)
{
  uint32_t seed = 3;
  cabinet_init(&box, CONE_12_INCH, true, 48000.0);
  for (uint32_t i = 0; i < CUT_FRAMES; ++i) {
    x[0][i] = check_noise(&seed);
    x[1][i] = check_noise(&seed);
  }
  for (uint32_t at = 0, n = 0; at < CUT_FRAMES; at += n) {
    const uint32_t left = CONTROL_FRAMES - at % CONTROL_FRAMES;
    float* const   to[] = {x[0] + at, x[1] + at};
    if (left == CONTROL_FRAMES) {
      const double       share = (double)at / CUT_FRAMES;
      const cabinet_line line  = {.lift_db  = share * far.lift_db,
                                  .fall_oct = share * far.fall_oct};
      cabinet_push(&box, &line);
    }
    n = piece < left ? piece : left;
    cabinet_process(&box, (const float* const*)to, to, n_channels, n);
  }
}

// Side by side in registers, in long pieces, sections do what they do one after
// the other, in short ones: to the bit
static void
test_sections_side_by_side(void** state)
{
  static const uint32_t pieces[] = {6, 7, 8, 9, 31, 32};
  static float          whole[2][CUT_FRAMES], cut[2][CUT_FRAMES];
  (void)state;
  for (uint32_t n_channels = 1; n_channels <= 2; ++n_channels) {
    play_cut(cut, n_channels, 1);
    for (size_t i = 0; i < sizeof(pieces) / sizeof(pieces[0]); ++i) {
      play_cut(whole, n_channels, pieces[i]);
      assert_memory_equal(whole, cut, sizeof(cut));
    }
  }
}

// ---------------------------------------------------------------------------
// Back and angle

// p = front - r / (r + D) rear, at 5 cm from a cone whose cabinet is 0.5 m
// around (H. F. Olson, "Acoustical Engineering", 1957, from memory; the close
// form derived): by that formula a microphone at 2 to 10 cm loses 0.30 to 1.37
// dB at 50 Hz and 0.25 to 1.08 at 80, and gains 0.33 to 1.34 at 343 (computed).
// Frequencies of 12 inch; others go with 1 / diameter, as the cabinets do.
static void
test_open_back(void** state)
{
  (void)state;
  static const struct {
    double f_hz, least_db, most_db;
  } rows[] = {
    {50.0, -1.37, -0.30},  {80.0, -1.08, -0.25},  {343.0, 0.33, 1.34},
    {1000.0, -0.50, 0.50}, {2000.0, -0.30, 0.30}, {8000.0, -0.10, 0.10},
  };
  static const double rates[] = {44100.0, 96000.0};
  for (int i = 0; i < 8; ++i) {
    const cone_size size    = (cone_size)(i / 2);
    const double    rate_hz = rates[i % 2];
    const double    s       = cone_scale(size);
    double          db[2][6];
    for (int is_open = 0; is_open < 2; ++is_open) {
      cabinet_init(&box, size, is_open, rate_hz);
      const uint32_t n = impulse((cabinet_line){0}, rate_hz);
      for (int k = 0; k < 6; ++k) {
        db[is_open][k] = measured_db(rows[k].f_hz / s, n, rate_hz);
      }
    }
    for (int k = 0; k < 6; ++k) {
      const double opened_db = db[1][k] - db[0][k];
      assert_true(opened_db > rows[k].least_db);
      assert_true(opened_db < rows[k].most_db);
    }
  }
}

// A cone hears all angles alike while its diameter is below a third of the wave
// ("Audio Engineering Know It All", 2009, p. 679): 420 Hz for 0.13 m.  Above it
// beams, more so with frequency and angle; at 1 kHz less than a rigid piston
// would (2 J1(x) / x; Eargle 1994), because its rim moves less; at 10 kHz and
// 65 degrees 6 to 11 dB, as elastic cones do (computed with a shell model).
static void
test_off_axis(void** state)
{
  (void)state;
  const double rate_hz = 192000.0;
  cabinet_init(&box, CONE_12_INCH, false, rate_hz);
  const uint32_t n = impulse((cabinet_line){0}, rate_hz);
  static double  was[N_BANDS];
  for (int i = 0; i < N_BANDS; ++i) {
    was[i] = curve_db[i] = measured_db(place_hz(i), n, rate_hz);
  }
  for (int k = 1; k <= 4; ++k) {
    (void)impulse((cabinet_line){.off_axis = 0.25 * k}, rate_hz);
    double last = 0.01;
    for (int i = 0; i < N_BANDS; ++i) {
      const double now     = measured_db(place_hz(i), n, rate_hz);
      const double loss_db = now - curve_db[i];
      assert_true(place_hz(i) > 420.0 || fabs(loss_db) < 0.1);
      assert_true(loss_db < last + 0.001);
      assert_true(place_hz(i) < 1000.0 || now < was[i]);
      was[i] = now;
      last   = loss_db;
    }
    const double piston_db =
      cone_piston_db(2.0 * DSP_PI * 1000.0 / 343.0 * 0.13 *
                     sin(0.25 * k * CABINET_MAX_ANGLE / 180.0 * DSP_PI));
    assert_true(was[place_of(1000.0)] - curve_db[place_of(1000.0)] > piston_db);
  }
  const int    at      = place_of(10000.0);
  const double loss_db = was[at] - curve_db[at];
  print_message("# 65 degrees at 10 kHz: %.2f dB\n", loss_db);
  assert_near(loss_db, -8.5, 2.5);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_loudspeaker_is_one_for_guitars),
    cmocka_unit_test(test_rates_agree),
    cmocka_unit_test(test_low_rates),
    cmocka_unit_test(test_moves),
    cmocka_unit_test(test_fall),
    cmocka_unit_test(test_slide),
    cmocka_unit_test(test_sections_side_by_side),
    cmocka_unit_test(test_open_back),
    cmocka_unit_test(test_off_axis),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
