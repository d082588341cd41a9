// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The feedback delay network keeps energy, or loses it by the law it is given

#include "tests/support/decay.h"

#include "common/reverb/fdn.h"

#include <string.h>

#define RATE_HZ 48000.0

static const uint32_t lengths[FDN_LINES] = {227, 251, 269, 293, 331, 347,
                                            379, 419, 449, 491, 541, 587,
                                            631, 691, 751, 821};

static const decay_law lossless = {INFINITY, INFINITY, INFINITY, 100, 2000};

static fdn   network;
static float memory[FDN_LINES][1024];

static void
build(const decay_law* law, double rate_hz)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    fdn_set_line(&network, i, memory[i], lengths[i]);
  }
  fdn_reset(&network);
  fdn_snap_decay(&network, law, rate_hz);
}

/// Blocks of awkward sizes, so that lines wrap everywhere
static uint32_t
next_size(uint32_t i)
{
  static const uint32_t sizes[] = {32, 1, 31, 7, 25, 32, 16, 16};
  return sizes[i % 8];
}

/// Checks `n` frames of all rows, `left` frames before line k comes out
static void
assert_column(fdn_block out, uint32_t k, uint32_t left, uint32_t n)
{
  for (uint32_t r = 0; r < FDN_LINES; ++r) {
    const double h = __builtin_popcount(r & k) % 2 ? -0.25 : 0.25;
    for (uint32_t t = 0; t < n && t <= left; ++t) {
      assert_near((double)out[r][t], t == left ? h : 0.0, 1e-7);
    }
  }
}

static void
test_matrix_is_sylvesters(void** state)
{
  (void)state;
  // J. J. Sylvester (1867): H[r][k] = (-1)^(common bits of r and k), over 4.
  // What enters line k comes out after its length, weighted with column k.
  for (uint32_t k = 0; k < FDN_LINES; ++k) {
    build(&lossless, RATE_HZ);
    fdn_block in  = {{0}};
    fdn_block out = {{0}};
    in[k][0]      = 1.0F;
    uint32_t at   = 0;
    for (uint32_t i = 0; at <= lengths[k]; ++i) {
      const uint32_t n = next_size(i);
      fdn_process(&network, in, out, n);
      assert_column(out, k, lengths[k] - at, n);
      in[k][0] = 0.0F;
      at += n;
    }
  }
}

static double
stored_energy(void)
{
  double sum = 0.0;
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    for (uint32_t t = 0; t < lengths[i]; ++t) {
      sum += (double)memory[i][t] * (double)memory[i][t];
    }
  }
  return sum;
}

static void
test_without_losses_energy_stays(void** state)
{
  (void)state;
  // A network around an orthogonal matrix is lossless for any lengths
  // (Schlecht, Habets, arXiv 1606.07729); 10 s, 0.1 dB
  build(&lossless, RATE_HZ);
  fdn_block in   = {{0}};
  fdn_block out  = {{0}};
  uint32_t  seed = 1;
  for (uint32_t i = 0; i < 20; ++i) {
    for (uint32_t k = 0; k < FDN_LINES; ++k) {
      for (uint32_t t = 0; t < CONTROL_FRAMES; ++t) {
        in[k][t] = check_noise(&seed);
      }
    }
    fdn_process(&network, in, out, CONTROL_FRAMES);
  }
  memset(in, 0, sizeof(in));
  const double before = stored_energy();
  double       power  = 0.0; // Of one row, over the 10 s
  for (uint32_t at = 0, i = 0; at < 480000; ++i) {
    const uint32_t n = next_size(i);
    fdn_process(&network, in, out, n);
    for (uint32_t t = 0; t < n; ++t) {
      power += (double)out[5][t] * (double)out[5][t];
    }
    at += n;
  }
  assert_near(10.0 * log10(stored_energy() / before), 0.0, 0.1);
  // The energy is spread evenly over fdn_frames() places, and so is the output
  // of a row of norm 1
  const double even = before / fdn_frames(&network) * 480000.0;
  assert_near(10.0 * log10(power / even), 0.0, 0.2);
}

/// Squared gain of y = d x + s, s' = p s + c x: (d z + c - d p) / (z - p)
static double
section_power(double d, double c, double p, double cos_w)
{
  const double b = c - d * p;
  return (d * d + b * b + 2.0 * d * b * cos_w) /
         (1.0 + p * p - 2.0 * p * cos_w);
}

/// Gain of the two shelves at one frequency
static double
gain_of(const absorption* a, double f_hz, double rate_hz)
{
  const double cos_w = cos(2.0 * DSP_PI * f_hz / rate_hz);
  return sqrt(section_power(a->low_d, a->low_c, a->low_p, cos_w) *
              section_power(a->high_d, a->high_c, a->high_p, cos_w));
}

/// Laws of a treated, a dry and a hard room
static const decay_law laws[] = {
  {0.255, 0.441, 0.243, 60.0, 553.0},
  {0.600, 0.228, 0.204, 84.1, 589.0},
  {0.320, 1.139, 0.607, 140.1, 1491.0},
};

static void
test_every_length_decays_alike(void** state)
{
  (void)state;
  // T60 = 60 dB * length / loss in dB (Jot, Chaigne 1991): the same from all
  // lines within 0.1 %, and that of the law
  static const double f_hz[]     = {125, 250, 500, 1000, 2000, 4000};
  static const double rates_hz[] = {44100, 48000, 96000};
  for (uint32_t l = 0; l < 3; ++l) {
    for (uint32_t r = 0; r < 3; ++r) {
      const absorption_fit fit =
        absorption_fit_of(&laws[l], rates_hz[r], lengths[15] / RATE_HZ);
      for (uint32_t j = 0; j < 6; ++j) {
        double least = INFINITY;
        double most  = 0.0;
        for (uint32_t i = 0; i < FDN_LINES; ++i) {
          const double     path_s = lengths[i] / RATE_HZ;
          const absorption a      = absorption_of(&laws[l], &fit, path_s);
          const double     g      = gain_of(&a, f_hz[j], rates_hz[r]);
          const double     t_s    = 60.0 * path_s / -gain_to_db(g);
          least                   = fmin(least, t_s);
          most                    = fmax(most, t_s);
        }
        assert_near(most / least, 1.0, 0.001);
        assert_near(most / decay_law_s(&laws[l], f_hz[j]), 1.0, 0.01);
      }
    }
  }
}

/// The loss of a path of `path_s` stays in bounds, by a fit to `longest_s`
static void
assert_between(const decay_law* law, double path_s, double longest_s)
{
  static const double f_hz[] = {0, 30, 100, 300, 1000, 3000, 8000, 24000};

  const absorption_fit fit   = absorption_fit_of(law, RATE_HZ, longest_s);
  const absorption     a     = absorption_of(law, &fit, path_s);
  const double         first = 60.0 * path_s;
  const double         slow  = fmax(law->mid_s, fmax(law->low_s, law->high_s));
  const double         fast  = fmin(law->mid_s, fmin(law->low_s, law->high_s));
  for (uint32_t j = 0; j < 8; ++j) {
    const double db = -gain_to_db(gain_of(&a, f_hz[j], RATE_HZ));
    assert_true(db > 0.1 * first / slow && db < 1.4 * first / fast);
  }
}

static void
test_any_law_loses(void** state)
{
  (void)state;
  // Whatever is asked, even times of 100 : 1, the corrected shelves never
  // amplify
  static const double times_s[]       = {0.1, 0.3, 1.0, 3.0, 10.0};
  static const double shelves_hz[][2] = {{60, 550}, {140, 1500}, {316, 3160}};
  for (uint32_t c = 0; c < 125; ++c) {
    for (uint32_t s = 0; s < 3; ++s) {
      const decay_law law = {times_s[c % 5], times_s[c / 5 % 5],
                             times_s[c / 25], shelves_hz[s][0],
                             shelves_hz[s][1]};
      for (double longest_s = 0.001; longest_s < 0.06; longest_s *= 1.1) {
        assert_between(&law, longest_s, longest_s);
        assert_between(&law, 0.3 * longest_s, longest_s);
      }
    }
  }
}

static void
test_almost_flat_laws_lose(void** state)
{
  (void)state;
  // A glide passes points where two times are almost equal and a shelf does
  // almost nothing: its place must not matter there
  static const double times_s[] = {0.25, 0.52, 1.07};
  for (double part = 1e-10; part < 0.1; part *= 1.7) {
    for (uint32_t c = 0; c < 18; ++c) {
      const double    mid_s = times_s[c % 3];
      const double    near  = mid_s * (c / 9 ? 1.0 + part : 1.0 - part);
      const double    far   = times_s[c / 3 % 3];
      const decay_law high  = {far, mid_s, near, 350, 2800};
      const decay_law low   = {near, mid_s, far, 350, 2800};
      assert_between(&high, 0.045, 0.045);
      assert_between(&low, 0.045, 0.045);
    }
  }
}

static void
test_ends_of_a_law(void** state)
{
  (void)state;
  // Outside the octaves the fit may be off, within 5 %
  for (uint32_t l = 0; l < 3; ++l) {
    const absorption_fit fit = absorption_fit_of(&laws[l], RATE_HZ, 0.01);
    const absorption     a   = absorption_of(&laws[l], &fit, 0.01);
    // 60 dB times the share of the decay time
    const double low_db  = 60.0 * 0.01 / laws[l].low_s;
    const double high_db = 60.0 * 0.01 / laws[l].high_s;
    assert_near(-gain_to_db(gain_of(&a, 0.0, RATE_HZ)) / low_db, 1.0, 0.05);
    assert_near(-gain_to_db(gain_of(&a, 0.5 * RATE_HZ, RATE_HZ)) / high_db, 1.0,
                0.01);
    assert_near(decay_law_s(&laws[l], 0.0), laws[l].low_s, 1e-9);
    assert_near(decay_law_s(&laws[l], 1e9), laws[l].high_s, 1e-9);
  }
}

/// T30 of all rows together
static double
decay_time_of_network_s(void)
{
  enum { N = 48000 };
  static double energy[N];
  fdn_block     in  = {{0}};
  fdn_block     out = {{0}};
  for (uint32_t k = 0; k < FDN_LINES; ++k) {
    in[k][0] = 0.25F;
  }
  for (uint32_t at = 0; at < N; at += CONTROL_FRAMES) {
    fdn_process(&network, in, out, CONTROL_FRAMES);
    memset(in, 0, sizeof(in));
    for (uint32_t t = 0; t < CONTROL_FRAMES; ++t) {
      energy[at + t] = 0.0;
      for (uint32_t r = 0; r < FDN_LINES; ++r) {
        energy[at + t] += (double)out[r][t] * (double)out[r][t];
      }
    }
  }
  return decay_time_s(energy, N, 1.0 / RATE_HZ, -5.0, -35.0);
}

static void
test_network_decays_in_the_time_asked(void** state)
{
  (void)state;
  static const double times_s[] = {0.15, 0.31, 0.6, 1.2};
  for (uint32_t i = 0; i < 4; ++i) {
    const double    t   = times_s[i];
    const decay_law law = {t, t, t, 100.0, 2000.0};
    build(&law, RATE_HZ);
    assert_near(decay_time_of_network_s() / t, 1.0, 0.02);
  }
}

static void
test_decay_moves_without_a_step(void** state)
{
  (void)state;
  // Steady DC in, while the law changes from one grid line to the next: the
  // outputs move evenly from frame to frame (the lines are far from full, so
  // that only the first return moves)
  const decay_law from = {1.0, 1.0, 1.0, 100.0, 2000.0};
  const decay_law to   = {0.2, 0.2, 0.2, 100.0, 2000.0};
  build(&from, RATE_HZ);
  fdn_block in  = {{0}};
  fdn_block out = {{0}};
  for (uint32_t t = 0; t < CONTROL_FRAMES; ++t) {
    in[0][t] = 1.0F;
  }
  for (uint32_t at = 0; at < 320; at += CONTROL_FRAMES) {
    fdn_process(&network, in, out, CONTROL_FRAMES);
  }
  const float before = out[3][CONTROL_FRAMES - 1];
  fdn_push_decay(&network, &to);
  fdn_process(&network, in, out, CONTROL_FRAMES);
  const float after = out[3][CONTROL_FRAMES - 1];
  // 10^(-3 M / (T fs)) of line 0 alone has come back once
  assert_near((double)before, 0.25 * pow(10.0, -3.0 * 227 / RATE_HZ), 1e-5);
  assert_near((double)after / (double)before,
              pow(10.0, -3.0 * 227 / RATE_HZ * (5.0 - 1.0)), 0.01);
  for (uint32_t t = 1; t < CONTROL_FRAMES; ++t) {
    assert_near((double)(out[3][t] - out[3][t - 1]),
                (double)(after - before) / (CONTROL_FRAMES - 1), 2e-4);
  }
  // Pushed again, it is exactly where a network built so would be
  fdn_push_decay(&network, &to);
  assert_false(network.moving);
  const fdn moved = network;
  fdn_snap_decay(&network, &to, RATE_HZ);
  assert_memory_equal(moved.now, network.now, sizeof(network.now));
}

static void
test_primes(void** state)
{
  (void)state;
  // The first primes, and the 1000th (Abramowitz, Stegun, table 24.9)
  static const uint32_t primes[] = {32, 37,  38,  41,   90,
                                    97, 226, 227, 7908, 7919};
  for (uint32_t i = 0; i < 10; i += 2) {
    assert_int_equal(fdn_prime_from(primes[i]), primes[i + 1]);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_matrix_is_sylvesters),
    cmocka_unit_test(test_without_losses_energy_stays),
    cmocka_unit_test(test_every_length_decays_alike),
    cmocka_unit_test(test_any_law_loses),
    cmocka_unit_test(test_almost_flat_laws_lose),
    cmocka_unit_test(test_ends_of_a_law),
    cmocka_unit_test(test_network_decays_in_the_time_asked),
    cmocka_unit_test(test_decay_moves_without_a_step),
    cmocka_unit_test(test_primes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
