// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The sound of the plate, measured on its impulse response: the onset and the
/// decay per octave

#include "plate_rig.h"

#include <complex.h>

#define J ((double complex)I)

/// Returns the envelope around `f_hz` at frame `at`, of a third of an octave
/// (-3 dB) under a bell without delay
static double
envelope(const float* x, double f_hz, uint32_t at)
{
  const double   width_hz = f_hz * (exp2(1.0 / 6.0) - exp2(-1.0 / 6.0));
  const double   bell     = sqrt(log(2.0)) / (DSP_PI * width_hz) * RATE_HZ;
  const int      reach    = (int)(4.0 * bell);
  double complex sum      = 0.0;
  for (int i = -reach; i <= reach; ++i) {
    if ((int)at + i >= 0) {
      const double shape = exp(-0.5 * i * i / (bell * bell));
      sum += shape * (double)x[(int)at + i] *
             cexp(-2.0 * DSP_PI * f_hz / RATE_HZ * i * J);
    }
  }
  return cabs(sum);
}

/// Returns the time of the first peak of the envelope that is not noise
static double
arrival_ms(const float* x, double f_hz)
{
  double most = 0.0;
  for (uint32_t i = 0; i < 720; ++i) {
    most = fmax(most, envelope(x, f_hz, i));
  }
  for (uint32_t i = 1;; ++i) {
    const double now = envelope(x, f_hz, i);
    if (now > 0.25 * most && now > envelope(x, f_hz, i + 1)) {
      return 1e3 * i / RATE_HZ;
    }
    assert_true(i < 720);
  }
}

static void
test_high_frequencies_arrive_first(void** state)
{
  (void)state;

  // d / (2 sqrt(2 pi f kappa)) for the 0.567 m to the left pick-up (Woodhouse,
  // "Euphonics", section 4.3.3; group speed twice the phase speed: Harris'
  // Shock and Vibration Handbook, SEA chapter, eq. 11.69)
  static const double f_hz[] = {1000, 2000, 4000, 8000};
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig r = open_plate(RATE_HZ);
    rig_set(&r, "quality", quality);
    respond(&r, 1.0, 1.0);
    for (uint32_t k = 0; k < 4; ++k) {
      const double want =
        1e3 * 0.567 / (2.0 * sqrt(2.0 * DSP_PI * f_hz[k] * 0.78259));
      const double got = arrival_ms(response[0], f_hz[k]);
      print_message("# %g Hz: %.2f ms, want %.2f\n", f_hz[k], got, want);
      assert_near(got / want, 1.0, 0.10);
    }

    // Only the end of the band comes before
    const double before = energy_db(response[0], 0, 48) - 10.0 * log10(48);
    const double after = energy_db(response[0], 960, 2880) - 10.0 * log10(1920);
    print_message("# first ms: %.1f dB\n", before - after);
    assert_true(before - after < -12.0);
    rig_close(&r);
  }
}

static void
test_decay_per_octave(void** state)
{
  (void)state;

  // T30 (ISO 3382-1) within its difference limen of 5 % (ISO 3382-1, table
  // A.1), 8 % at 125 Hz where 1.4 modes per bandwidth fluctuate.  The law
  // between the three times: the loss is linear in the logarithm of f.
  static const double want_s[N_OCTAVES] = {2.86, 2.50, 2.22, 2.00,
                                           1.54, 1.25, 1.05};
  static const double rates[]           = {44100, 48000, 96000};
  for (uint32_t i = 0; i < 3; ++i) {
    rig r = open_plate(rates[i]);
    respond(&r, 1.0, 1.0);
    const uint32_t n = rates[i] > 50000 ? 4 : N_OCTAVES; // 1.5 s is too short
    for (uint32_t k = N_OCTAVES - n; k < N_OCTAVES; ++k) {
      const double got = octave_time_s(octaves_hz[k], rates[i]);
      print_message("# %g Hz, octave %g: T30 %.3f s, want %.2f\n", rates[i],
                    octaves_hz[k], got, want_s[k]);
      assert_near(got / want_s[k], 1.0, k ? 0.05 : 0.08);
    }
    rig_close(&r);
  }

  // The light plate likewise, though its shelves only resemble the law
  rig r = open_plate(RATE_HZ);
  rig_set(&r, "quality", 1.0);
  respond(&r, 1.0, 1.0);
  for (uint32_t k = 0; k < N_OCTAVES; ++k) {
    const double got = octave_time_s(octaves_hz[k], RATE_HZ);
    print_message("# light, octave %g: T30 %.3f s, want %.2f\n", octaves_hz[k],
                  got, want_s[k]);
    assert_near(got / want_s[k], 1.0, k ? 0.05 : 0.08);
  }
  rig_close(&r);
}

/// Returns T30 of the law itself after the octave's filter, whose skirts pass
/// modes that ring longer: modes at even distances in f, each with its own
/// loss. `times_s` are those at 100 Hz, 1 kHz, 10 kHz.
static double
model_time_s(const double* times_s, double f_hz)
{
  enum { STEPS = 200 };
  static double energy[N];
  memset(energy, 0, sizeof(energy));
  for (uint32_t i = 0; i < STEPS; ++i) {
    const double f    = fmin(5.0 * f_hz, 10000.0) * (i + 0.5) / STEPS;
    const double low  = pow(f_hz * pow(10.0, -0.15) / f, 8.0);
    const double high = pow(f / (f_hz * pow(10.0, 0.15)), 8.0);
    const double way  = log10(f / 1000.0);
    const double to   = way < 0.0 ? 1.0 / times_s[0] : 1.0 / times_s[2];
    const double mid  = 1.0 / times_s[1];
    const double loss = mid + (to - mid) * fmin(fabs(way), 1.0);
    const double turn = pow(10.0, -6.0 * loss / RATE_HZ);
    double       e    = 1.0 / (1.0 + low) / (1.0 + high);
    for (uint32_t t = 0; t < N; ++t) {
      energy[t] += e;
      e *= turn;
    }
  }
  return decay_time_s(energy, N, 1.0 / RATE_HZ, -5.0, -35.0);
}

static void
test_ends_of_the_decays(void** state)
{
  (void)state;

  // Where the time is steep over a band, T30 is that of the sum of its modes.
  // Both inputs one by one, so that four responses are averaged (ISO 3382-1).
  static const double cases[][3] = {{0.5, 50, 20},
                                    {0.5, 200, 20},
                                    {0.5, 100, 100},
                                    {1.5, 50, 20},
                                    {1.5, 100, 40}};
  static const double f_hz[]     = {500, 1000, 2000, 4000, 8000};
  rig                 r          = open_plate(RATE_HZ);
  for (uint32_t i = 0; i < 5; ++i) {
    const double mid_s      = cases[i][0];
    const double times_s[3] = {mid_s * 0.01 * cases[i][1], mid_s,
                               mid_s * 0.01 * cases[i][2]};
    rig_set(&r, "decay_s", mid_s);
    rig_set(&r, "low_decay_pc", cases[i][1]);
    rig_set(&r, "high_decay_pc", cases[i][2]);
    static double energy[5][N];
    memset(energy, 0, sizeof(energy));
    for (uint32_t input = 0; input < 2; ++input) {
      respond(&r, input == 0, input == 1);
      for (uint32_t k = 0; k < 5; ++k) {
        add_octave(energy[k], f_hz[k], RATE_HZ);
      }
    }
    for (uint32_t k = 0; k < 5; ++k) {
      const double want = model_time_s(times_s, f_hz[k]);
      const double got = decay_time_s(energy[k], N, 1.0 / RATE_HZ, -5.0, -35.0);
      print_message("# %g s, %g %%, %g %%: T30 at %g Hz %.3f s, want %.3f\n",
                    mid_s, cases[i][1], cases[i][2], f_hz[k], got, want);
      assert_near(got / want, 1.0, 0.05);
    }
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_high_frequencies_arrive_first),
    cmocka_unit_test(test_decay_per_octave),
    cmocka_unit_test(test_ends_of_the_decays),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
