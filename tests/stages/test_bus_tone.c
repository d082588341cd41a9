// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bus equaliser: responses against the analog prototypes (W3C Group Note
/// "Audio EQ Cookbook", 2021), and the arithmetic of mid and side.

#include "tests/support/click.h"
#include "tests/support/rig.h"

#include "common/stages/bus_tone.h"

#include <complex.h>

#define RATE_HZ 48000.0
#define N       65536U

RIG_PARAMS(bus_tone)

static float left[N], right[N], out_left[N], out_right[N];

typedef struct {
  bus_tone        state;
  stage           st;
  bus_tone_params p;
} bus;

static bus the_bus;

/// Everything off
static void
flat(void)
{
  the_bus.p =
    bus_tone_with("low_cut_hz=20 mid_body_db=0 side_body_db=0 side_treble_db=0 "
                  "presence_db=0 width_pc=100 mono_below_hz=0");
}

static void
start(double rate_hz)
{
  memset(&the_bus.state, 0, sizeof(the_bus.state));
  assert_true(
    stage_init(&the_bus.st, &bus_tone_ops, &the_bus.state, rate_hz, 2));
  stage_set(&the_bus.st, (const float*)(const void*)&the_bus.p);
  stage_reset(&the_bus.st);
}

static void
play(uint32_t from, uint32_t to)
{
  const float* const in[]  = {left + from, right + from};
  float* const       out[] = {out_left + from, out_right + from};
  stage_process(&the_bus.st, in, out, 2, to - from);
}

/// Noise that is neither mid nor side
static void
fill_noise(void)
{
  uint32_t seed = 7;
  for (uint32_t i = 0; i < N; ++i) {
    left[i]  = 0.5F * check_noise(&seed);
    right[i] = 0.3F * check_noise(&seed);
  }
}

/// Plays an impulse in the mid (sign 1) or the side (-1)
static void
impulse(float sign)
{
  memset(left, 0, sizeof(left));
  memset(right, 0, sizeof(right));
  left[0]  = 1.0F;
  right[0] = sign;
  play(0, N);
}

static double
gain_db(const float* h, double f_hz, double rate_hz)
{
  double complex sum = 0.0;
  for (uint32_t i = 0; i < N; ++i) {
    sum += (double)h[i] *
           cexp(-2.0 * DSP_PI * (double complex)I * f_hz * i / rate_hz);
  }
  return gain_to_db(cabs(sum) + 1e-12);
}

/// Prototypes of the cookbook at s = j f / f0
static double
bell_db(double f_hz, double f0_hz, double db, double oct)
{
  const double         a     = pow(10.0, db / 40.0);
  const double         q     = 1.0 / (2.0 * sinh(log(2.0) / 2.0 * oct));
  const double complex s     = (double complex)I * f_hz / f0_hz;
  const double complex above = s * s + s * a / q + 1.0;
  const double complex below = s * s + s / (a * q) + 1.0;
  return gain_to_db(cabs(above / below));
}

static double
high_shelf_db(double f_hz, double f0_hz, double db)
{
  const double         a     = pow(10.0, db / 40.0);
  const double complex s     = (double complex)I * f_hz / f0_hz;
  const double         k     = sqrt(a) * sqrt(2.0);
  const double complex above = a * (a * s * s + k * s + 1.0);
  const double complex below = s * s + k * s + a;
  return gain_to_db(cabs(above / below));
}

static double
butterworth_db(double f_hz, double f0_hz, int order)
{
  return -10.0 * log10(1.0 + pow(f0_hz / f_hz, 2.0 * order));
}

static const double rates[]       = {44100, 48000, 96000, 192000};
static const double frequencies[] = {60,   100,  200,  350,   700,
                                     1500, 3000, 6500, 10000, 15000};
enum { FREQUENCIES = sizeof(frequencies) / sizeof(frequencies[0]) };

static void
test_flat_passes_the_signal(void** state)
{
  (void)state;
  flat();
  start(RATE_HZ);
  fill_noise();
  play(0, N);
  for (uint32_t i = 0; i < N; ++i) {
    assert_near((double)out_left[i], (double)left[i], 1e-7);
    assert_near((double)out_right[i], (double)right[i], 1e-7);
  }
}

static void
test_mid_bell(void** state)
{
  (void)state;
  for (int r = 0; r < 4; ++r) {
    flat();
    the_bus.p.mid_body_db = 6.0F;
    start(rates[r]);
    impulse(1.0F);
    for (int i = 0; i < FREQUENCIES; ++i) {
      assert_near(gain_db(out_left, frequencies[i], rates[r]),
                  bell_db(frequencies[i], 300.0, 6.0, 1.5), 0.02);
    }
    impulse(-1.0F);
    for (int i = 0; i < FREQUENCIES; ++i) {
      assert_near(gain_db(out_left, frequencies[i], rates[r]), 0.0, 0.001);
    }
  }
}

static void
test_side_bell_and_shelf(void** state)
{
  (void)state;
  for (int r = 0; r < 4; ++r) {
    flat();
    the_bus.p.side_body_db   = -6.0F;
    the_bus.p.side_treble_db = 6.0F;
    start(rates[r]);
    stage_reset(&the_bus.st);
    impulse(-1.0F);
    for (int i = 0; i < FREQUENCIES; ++i) {
      const double f_hz = frequencies[i];
      assert_near(gain_db(out_left, f_hz, rates[r]),
                  bell_db(f_hz, 350.0, -6.0, 1.5) +
                    high_shelf_db(f_hz, 6500.0, 6.0),
                  0.03);
    }
  }
}

static void
test_presence_on_both(void** state)
{
  (void)state;
  for (int sign = -1; sign <= 1; sign += 2) {
    flat();
    the_bus.p.presence_db  = 4.0F;
    the_bus.p.presence_hz  = 3000.0F;
    the_bus.p.presence_oct = 2.0F;
    start(RATE_HZ);
    impulse((float)sign);
    for (int i = 0; i < FREQUENCIES; ++i) {
      assert_near(gain_db(out_left, frequencies[i], RATE_HZ),
                  bell_db(frequencies[i], 3000.0, 4.0, 2.0), 0.2);
    }
  }
}

static void
test_cuts_are_butterworth(void** state)
{
  (void)state;
  for (int r = 0; r < 4; ++r) {
    flat();
    the_bus.p.low_cut_hz    = 100.0F;
    the_bus.p.mono_below_hz = 200.0F;
    start(rates[r]);
    impulse(1.0F);
    for (int i = 0; i < FREQUENCIES; ++i) {
      assert_near(gain_db(out_left, frequencies[i], rates[r]),
                  butterworth_db(frequencies[i], 100.0, 2), 0.02);
    }
    stage_reset(&the_bus.st);
    impulse(-1.0F);
    for (int i = 0; i < FREQUENCIES; ++i) {
      assert_near(gain_db(out_left, frequencies[i], rates[r]),
                  butterworth_db(frequencies[i], 100.0, 2) +
                    butterworth_db(frequencies[i], 200.0, 4),
                  0.02);
    }
  }
}

static void
test_side_cannot_change_the_mono_sum(void** state)
{
  double change = 0.0;
  double sum    = 0.0;
  (void)state;
  flat();
  the_bus.p.side_body_db   = 9.0F;
  the_bus.p.side_treble_db = -9.0F;
  the_bus.p.width_pc       = 170.0F;
  the_bus.p.mono_below_hz  = 250.0F;
  start(RATE_HZ);
  fill_noise();
  play(0, N);
  for (uint32_t i = 0; i < N; ++i) {
    const double before = (double)left[i] + (double)right[i];
    const double after  = (double)out_left[i] + (double)out_right[i];
    change += (after - before) * (after - before);
    sum += before * before;
  }
  assert_true(10.0 * log10(change / sum + 1e-30) < -120.0);
}

static void
test_one_side_alone(void** state)
{
  // L alone with the side up by 3 dB: L' = (1 + g) / 2, R' = (1 - g) / 2
  (void)state;
  flat();
  the_bus.p.width_pc = (float)(100.0 * db_to_gain(3.0));
  start(RATE_HZ);
  check_sine(left, N, 1000.0, 0.5, RATE_HZ);
  memset(right, 0, sizeof(right));
  play(0, N);
  const double in_db = check_rms_db(left, N);
  assert_near(check_rms_db(out_left, N) - in_db, 1.63, 0.02);
  assert_near(check_rms_db(out_right, N) - in_db, -13.71, 0.02);
}

static void
test_width(void** state)
{
  (void)state;
  flat();
  the_bus.p.width_pc = 0.0F;
  start(RATE_HZ);
  fill_noise();
  play(0, N);
  assert_memory_equal(out_left, out_right, sizeof(out_left));
}

static void
test_correlation(void** state)
{
  (void)state;
  bus_tone_meters m;
  flat();
  start(RATE_HZ);
  bus_tone_meter(&the_bus.state, &m);
  assert_true(m.correlation == 0.0F); // Silence
  for (int i = 0; i < 4; ++i) {
    // Sines of one frequency correlate by the cosine of their phase
    static const double degrees[] = {0.0, 60.0, 90.0, 180.0};
    for (uint32_t j = 0; j < N; ++j) {
      const double w = 2.0 * DSP_PI * 500.0 * j / RATE_HZ;
      left[j]        = (float)(0.5 * sin(w));
      right[j]       = (float)(0.1 * sin(w + degrees[i] * DSP_PI / 180.0));
    }
    start(RATE_HZ);
    play(0, N);
    bus_tone_meter(&the_bus.state, &m);
    assert_near((double)m.correlation, cos(degrees[i] * DSP_PI / 180.0), 0.01);
  }
}

static void
test_no_control_clicks(void** state)
{
  float* const values = (float*)(void*)&the_bus.p;
  (void)state;
  for (uint32_t c = 0; c < bus_tone_n_params; ++c) {
    for (int way = 0; way < 2; ++way) {
      for (uint32_t i = 0; i < bus_tone_n_params; ++i) {
        values[i] = bus_tone_param_info[i].def;
      }
      values[c] = way ? bus_tone_param_info[c].min : bus_tone_param_info[c].max;
      start(RATE_HZ);
      check_sine(left, N, CLICK_SINE_HZ, 0.178, RATE_HZ);
      check_sine(right, N, CLICK_SINE_HZ, 0.09, RATE_HZ);
      play(0, N / 2 + 13);
      values[c] = way ? bus_tone_param_info[c].max : bus_tone_param_info[c].min;
      stage_set(&the_bus.st, values);
      play(N / 2 + 13, N);
      const click_peaks peaks =
        click_of_recording(out_left, N, N / 2 + 13, RATE_HZ);
      if (peaks.jump_db > CLICK_LIMIT_DB) {
        fail_msg("%s: %.1f dBFS above 4 kHz", bus_tone_param_info[c].symbol,
                 peaks.jump_db);
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_flat_passes_the_signal),
    cmocka_unit_test(test_mid_bell),
    cmocka_unit_test(test_side_bell_and_shelf),
    cmocka_unit_test(test_presence_on_both),
    cmocka_unit_test(test_cuts_are_butterworth),
    cmocka_unit_test(test_side_cannot_change_the_mono_sum),
    cmocka_unit_test(test_one_side_alone),
    cmocka_unit_test(test_width),
    cmocka_unit_test(test_correlation),
    cmocka_unit_test(test_no_control_clicks),
  };
  return cmocka_run_group_tests_name("bus_tone", tests, NULL, NULL);
}
