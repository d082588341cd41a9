// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The sound of the plate, measured on its impulse response: the octaves at the
/// two outputs, the density

#include "plate_rig.h"

static void
test_octaves(void** state)
{
  (void)state;

  // Energy times loss, per Hz: a mobility that is flat in the mean (Cremer and
  // Heckl, from memory).  At 8 kHz the octave's end is beyond the last mode and
  // the low-pass at 10 kHz has begun: -2.4 dB, computed.  Uncorrelated outputs
  // add to -3 dB.
  static const double time_s[N_OCTAVES] = {2.86, 2.50, 2.22, 2.00,
                                           1.54, 1.25, 1.05};
  static double       left[N], right[N], level_db[N_OCTAVES];
  rig                 r = open_plate(RATE_HZ);
  respond(&r, 1.0, 1.0);
  double mean_db = 0.0;
  for (uint32_t k = 0; k < N_OCTAVES; ++k) {
    octave(response[0], left, N, octaves_hz[k], RATE_HZ);
    octave(response[1], right, N, octaves_hz[k], RATE_HZ);
    const double l            = energy_of(left, 0, N);
    const double right_energy = energy_of(right, 0, N);
    double       cross        = 0.0;
    for (uint32_t i = 0; i < N; ++i) {
      cross += left[i] * right[i];
    }
    const double both = l + right_energy;
    level_db[k]       = 10.0 * log10(both / time_s[k] / octaves_hz[k]) +
                  (octaves_hz[k] > 5000.0 ? 2.4 : 0.0);
    mean_db += level_db[k] / N_OCTAVES;
    print_message(
      "# octave %g: level %.1f dB, L/R %.1f dB, r %.3f, sum %.2f dB\n",
      octaves_hz[k], level_db[k], 10.0 * log10(l / right_energy),
      cross / sqrt(l * right_energy),
      10.0 * log10(0.5 * (both + 2.0 * cross) / both));
    assert_near(10.0 * log10(l / right_energy), 0.0, 1.5);
    assert_near(cross / sqrt(l * right_energy), 0.0, 0.12);
    assert_near(10.0 * log10(0.5 * (both + 2.0 * cross) / both), -3.0, 1.0);
  }
  for (uint32_t k = 0; k < N_OCTAVES; ++k) {
    assert_near(level_db[k], mean_db, 1.5);
  }
  rig_close(&r);
}

static void
test_mono_keeps_every_octave(void** state)
{
  (void)state;

  // Either quality, from one input or both: in mono no octave from 250 Hz to 4
  // kHz loses more than 4.5 dB (-3 dB: nothing in common, 0: all), and neither
  // output is louder than the other by more than 1.5 dB
  static double left[N], right[N];
  rig           r = open_plate(RATE_HZ);
  for (uint32_t c = 0; c < 6; ++c) {
    rig_set(&r, "quality", c < 3 ? 0.0 : 1.0);
    respond(&r, c % 3 != 1, c % 3 != 0);
    for (uint32_t k = 1; k < N_OCTAVES - 1; ++k) {
      octave(response[0], left, N, octaves_hz[k], RATE_HZ);
      octave(response[1], right, N, octaves_hz[k], RATE_HZ);
      double mono = 0.0;
      for (uint32_t i = 0; i < N; ++i) {
        mono += 0.5 * (left[i] + right[i]) * (left[i] + right[i]);
      }
      const double l       = energy_of(left, 0, N);
      const double other   = energy_of(right, 0, N);
      const double mono_db = 10.0 * log10(mono / (l + other));
      assert_true(mono_db >= -4.5 && mono_db <= 0.1);
      assert_near(10.0 * log10(l / other), 0.0, 1.5);
    }
  }
  rig_close(&r);
}

/// Normalised echo density: the share of frames beyond one standard deviation,
/// over that of Gaussian noise, 0.3173, under a Hann window of 20 ms (J. Abel,
/// P. Huang, 121st AES Convention (2006)); after a high-pass at 200 Hz
static double
echo_density(const double* x, uint32_t centre)
{
  const int half   = (int)(0.01 * RATE_HZ);
  double    power  = 0.0;
  double    weight = 0.0;
  double    beyond = 0.0;
  for (int pass = 0; pass < 2; ++pass) {
    for (int i = -half; i <= half; ++i) {
      const int at = (int)centre + i;
      if (at < 0) {
        continue;
      }
      const double w = 0.5 + 0.5 * cos(DSP_PI * i / half);
      if (pass == 0) {
        weight += w;
        power += w * x[at] * x[at];
      } else if (x[at] * x[at] * weight > power) {
        beyond += w;
      }
    }
  }
  return beyond / weight / 0.3173;
}

static void
test_echo_density(void** state)
{
  (void)state;

  // Dense from the onset on, and noise from 100 ms on
  static double x[N];
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig r = open_plate(RATE_HZ);
    rig_set(&r, "quality", quality);
    respond(&r, 1.0, 1.0);
    for (uint32_t k = 0; k < 2; ++k) {
      // One-pole high-passes at 200 Hz, twice
      double y1 = 0.0;
      double y2 = 0.0;
      for (uint32_t i = 0; i < N; ++i) {
        y1 += 0.0258 * ((double)response[k][i] - y1);
        y2 += 0.0258 * ((double)response[k][i] - y1 - y2);
        x[i] = (double)response[k][i] - y1 - y2;
      }
      double tail = 0.0;
      for (uint32_t t = 0; t < 30; ++t) {
        tail += echo_density(x, 4800 + 480 * t) / 30.0;
      }
      const double at_10_ms = echo_density(x, 480);
      print_message("# density %.2f at 10 ms, %.2f from 100 ms on\n", at_10_ms,
                    tail);
      assert_true(at_10_ms > 0.75);
      assert_near(tail, 1.0, 0.1);
    }
    rig_close(&r);
  }
}

static void
test_light_is_as_loud_as_full(void** state)
{
  (void)state;

  static double x[N];
  static double full_db[2][N_OCTAVES];
  rig           r = open_plate(RATE_HZ);
  for (uint32_t quality = 0; quality < 2; ++quality) {
    rig_set(&r, "quality", quality);
    respond(&r, 1.0, 1.0);
    for (uint32_t k = 0; k < 2; ++k) {
      for (uint32_t j = 0; j < N_OCTAVES; ++j) {
        octave(response[k], x, N, octaves_hz[j], RATE_HZ);
        const double db = 10.0 * log10(energy_of(x, 0, N));
        if (quality) {
          print_message("# light, output %u, octave %g: %+.1f dB\n", k,
                        octaves_hz[j], db - full_db[k][j]);
          assert_near(db, full_db[k][j], 1.5);
        } else {
          full_db[k][j] = db;
        }
      }
    }
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_octaves),
    cmocka_unit_test(test_mono_keeps_every_octave),
    cmocka_unit_test(test_echo_density),
    cmocka_unit_test(test_light_is_as_loud_as_full),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
