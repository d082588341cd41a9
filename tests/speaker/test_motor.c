// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The moving coil at high levels: distortion, energy, heat

#include "tests/support/check.h"

#include "common/speaker/cone.h"
#include "common/speaker/motor_heat.h"

#define MAX_FRAMES 400000

static float wave[MAX_FRAMES];

static void
run(motor* m, float* x, uint32_t n)
{
  for (uint32_t done = 0; done < n; done += CONTROL_FRAMES) {
    const uint32_t left = n - done;
    float*         at   = x + done;
    motor_process(m, (const float* const*)&at, &at, 1,
                  left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
}

static double
thd_pc(const motor_driver* d, double f_hz, double peak_v, double rate_hz)
{
  static motor m;
  motor_init(&m, d, 8.0, rate_hz);

  // Settled for 0.5 s, then whole periods: f_hz is a multiple of 2
  const uint32_t settle = (uint32_t)(0.5 * rate_hz);
  const uint32_t n      = (uint32_t)(0.5 * rate_hz);
  check_sine(wave, settle + n, f_hz, peak_v / MOTOR_FULL_SCALE_V, rate_hz);
  run(&m, wave, settle + n);

  const double one = check_tone(wave + settle, n, f_hz, rate_hz);
  double       sum = 0.0;
  for (int k = 2; k <= 20 && k * f_hz < 0.5 * rate_hz; ++k) {
    const double a = check_tone(wave + settle, n, k * f_hz, rate_hz);
    sum += a * a;
  }
  return 100.0 * sqrt(sum) / one;
}

// The same equations solved by an energy-exact scheme at 88.2, 176.4 and
// 352.8 kHz (computed, four digits alike): distortion in percent.  That low
// frequencies dominate: Yeh, Bank, Karjalainen, DAFx-08.
static void
test_distortion(void** state)
{
  (void)state;
  static const struct {
    double f_hz, peak_v, want_pc;
  } rows[] = {
    {82.0, 14.0, 12.6},  {82.0, 28.0, 35.3},  {82.0, 42.0, 55.6},
    {110.0, 14.0, 2.23}, {110.0, 28.0, 16.1}, {110.0, 42.0, 33.2},
    {220.0, 14.0, 0.57}, {220.0, 28.0, 1.18}, {220.0, 42.0, 1.85},
  };

  const motor_driver d = cone_driver(CONE_12_INCH, true);
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const double want = rows[i].want_pc;
    const double got  = thd_pc(&d, rows[i].f_hz, rows[i].peak_v, 44100.0);
    assert_near(got, want, 0.03 * want);

    const double fine = thd_pc(&d, rows[i].f_hz, rows[i].peak_v, 192000.0);
    assert_near(got, fine, 0.005 * fine);
  }
  const double at_1k = thd_pc(&d, 1000.0, 28.0, 44100.0);
  assert_near(at_1k, 0.05, 0.05);
  assert_true(thd_pc(&d, 82.0, 28.0, 44100.0) > 100.0 * at_1k);
}

/// Twice the energy in the coil, the eddies, the cone and the spring
static double
energy(const motor_driver* d, const motor_memory* s)
{
  return d->le_h * s->i[0] * s->i[0] + d->l2_h * s->i2[0] * s->i2[0] +
         d->mms_kg * s->v[0] * s->v[0] + d->kms * s->x[0] * s->x[0] +
         s->chi[0] * s->chi[0];
}

// Energy law of the scheme (Ducceschi et al. 2021): what the source gives is
// stored or lost, to rounding
static void
test_energy(void** state)
{
  (void)state;
  const motor_driver  d       = cone_driver(CONE_12_INCH, true);
  static const double rates[] = {22050.0, 48000.0, 384000.0, 1536000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    static motor m;
    motor_init(&m, &d, 8.0, rates[r]);
    m.relax = 0.0; // Nothing else takes energy out of the spring

    uint32_t seed    = 1;
    double   worst_w = 0.0;
    double   peak_w  = 0.0;
    for (int i = 0; i < 20000; ++i) {
      const motor_memory was = m.memory;
      float              e   = check_noise(&seed) < 0.0F ? -5.0F : 5.0F;
      const double       e_v = MOTOR_FULL_SCALE_V * (double)e;
      float* const       at  = &e;
      motor_process(&m, (const float* const*)&at, &at, 1, 1);

      const motor_memory* const now = &m.memory;

      const double current = 0.5 * (was.i[0] + now->i[0]);
      const double eddy    = current - 0.5 * (was.i2[0] + now->i2[0]);
      const double v       = 0.5 * (was.v[0] + now->v[0]);
      const double given_w = e_v * current;
      const double lost_w  = (d.re_ohm + 8.0) * current * current +
                            d.rms * v * v + d.r2_ohm * eddy * eddy;
      const double stored_w =
        0.5 * rates[r] * (energy(&d, now) - energy(&d, &was));
      worst_w = fmax(worst_w, fabs(stored_w - given_w + lost_w));
      peak_w  = fmax(peak_w, fabs(given_w));
    }
    print_message("# %7.0f Hz: energy residual %.1e of the peak power\n",
                  rates[r], worst_w / peak_w);
    assert_near(worst_w / peak_w, 0.0, 1e-9);
  }
}

// Bounded energy in, bounded state: Ducceschi et al. 2021
static void
test_stays_finite(void** state)
{
  (void)state;
  static const double rates[] = {8000.0,   22050.0,  44100.0,  48000.0,
                                 192000.0, 384000.0, 1536000.0};
  const motor_driver  d       = cone_driver(CONE_12_INCH, true);
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    static motor m;
    motor_init(&m, &d, 8.0, rates[r]);
    uint32_t seed  = 7;
    double   worst = 0.0;
    for (int i = 0; i < 60000; ++i) {
      float        e  = check_noise(&seed) < 0.0F ? -50.0F : 50.0F;
      float* const at = &e;
      motor_process(&m, (const float* const*)&at, &at, 1, 1);
      assert_true(isfinite(e));
      worst = fmax(worst, fabs(m.memory.x[0]));
    }
    print_message("# %7.0f Hz: 1000 V of noise move the cone %.1f mm\n",
                  rates[r], 1e3 * worst);
    assert_true(worst < 20e-3);

    const int n = (int)(0.8 * rates[r]);
    for (int i = 0; i < n; ++i) {
      float        e  = 0.0F;
      float* const at = &e;
      motor_process(&m, (const float* const*)&at, &at, 1, 1);
    }
    assert_near(m.memory.x[0], 0.0, 1e-6);
  }
}

// The two heat equations for a step of power, by scipy.linalg.expm
static void
test_heat(void** state)
{
  (void)state;
  static const double want[][3] = {{1.0, 10.6181, 0.0061385},
                                   {4.0, 30.3638, 0.0781956},
                                   {20.0, 48.3169, 0.839995},
                                   {600.0, 68.0171, 20.0967},
                                   {3000.0, 79.7766, 31.7781}};
  motor_heat          h         = {0};
  double              t         = 0.0;
  for (size_t i = 0; i < sizeof(want) / sizeof(want[0]); ++i) {
    for (; t < want[i][0] - 0.0005; t += 0.001) {
      motor_heat_step(&h, 1.56, 0.001);
    }
    assert_near(h.coil_k, want[i][1], 0.01);
    assert_near(h.magnet_k, want[i][2], 0.01);
  }
  // Whatever the power, the coil stays at 100 K
  for (int i = 0; i < 1000000; ++i) {
    motor_heat_step(&h, 1e3, 0.01);
  }
  assert_near(h.coil_k, 100.0, 0.01);
}

// Joule's law: power in Re, by the current of Ohm's law where the cone's motion
// and the coil's inductance hardly matter
static void
test_power(void** state)
{
  (void)state;
  motor_driver d = cone_driver(CONE_12_INCH, true);
  d.le_h         = 0.02e-3;
  d.l2_h         = 0.0;
  static motor m;
  motor_init(&m, &d, 8.0, 48000.0);
  check_sine(wave, 48000, 1000.0, 0.5, 48000.0);
  run(&m, wave, 24000);
  (void)motor_take_power(&m, 24000);
  run(&m, wave + 24000, 24000);
  const double amps = MOTOR_FULL_SCALE_V * 0.5 / sqrt(2.0) / (d.re_ohm + 8.0);
  const double want = d.re_ohm * amps * amps;
  assert_near(motor_take_power(&m, 24000), want, 0.01 * want);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_distortion),   cmocka_unit_test(test_energy),
    cmocka_unit_test(test_stays_finite), cmocka_unit_test(test_heat),
    cmocka_unit_test(test_power),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
