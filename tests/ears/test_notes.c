// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Single notes of the demo's guitar answer the hand as recorded ones do.
///
/// Figures of real notes are those of 752 direct recordings of a hollow-body
/// electric guitar at three strengths, frets and strings averaged.

#include "ears_strength.h"

#include "tests/support/check.h"

static ears_strength soft, hard;

static int
measure_all(void** state)
{
  (void)state;
  soft = ears_strength_of(0.25);
  hard = ears_strength_of(0.95);
  return 0;
}

// Real: 15 to 19 dB more at 5 to 8 kHz, re 1 kHz
static void
test_strength_brightens(void** state)
{
  (void)state;
  for (int k = EARS_5K; k <= EARS_8K; ++k) {
    const double more = hard.tone[k] - soft.tone[k];
    print_message("# p to f, third %d: %.1f dB\n", k, more);
    assert_true(more >= 12.0 && more <= 24.0);
  }
}

// Real: -20 dB/oct played softly, -12 played hard
static void
test_slopes(void** state)
{
  (void)state;
  print_message("# slope: p %.1f, f %.1f dB/oct\n", soft.tone[EARS_SLOPE],
                hard.tone[EARS_SLOPE]);
  assert_near(soft.tone[EARS_SLOPE], -23.0, 5.0);
  assert_near(hard.tone[EARS_SLOPE], -17.0, 5.0);
}

// Real: 9 dB played softly; 20 dB played hard, by the slap of the frets
static void
test_crest(void** state)
{
  (void)state;
  print_message("# crest: p %.1f, f %.1f dB\n", soft.tone[EARS_CREST],
                hard.tone[EARS_CREST]);
  assert_true(soft.tone[EARS_CREST] < 14.0);
  assert_true(hard.tone[EARS_CREST] > 18.0);
}

// Real: 2 to 3 dB RMS around a straight decay, from two polarisations
static void
test_decay_ripples(void** state)
{
  (void)state;
  print_message("# ripple: p %.2f, f %.2f dB\n", soft.tone[EARS_RIPPLE],
                hard.tone[EARS_RIPPLE]);
  assert_true(soft.tone[EARS_RIPPLE] >= 1.5 && soft.tone[EARS_RIPPLE] < 3.5);
  assert_true(hard.tone[EARS_RIPPLE] >= 1.5 && hard.tone[EARS_RIPPLE] < 3.5);
}

// B = pi^3 E d^4 / (64 T L^2): Fletcher and Rossing, "The Physics of Musical
// Instruments", eq. 2.67a (from memory)
static void
test_inharmonicity(void** state)
{
  (void)state;
  for (int k = 0; k < N_STRINGS; ++k) {
    print_message("# string %d: B %.1f %% off\n", k, soft.inharmonicity[k]);
    assert_near(soft.inharmonicity[k], 0.0, 5.0);
  }
}

// Real: 8 to 11, 6 to 7, 1.7 to 2.7, 1.2, and 0.9 to 1.2 s; a solid body rings
// as long or longer, so up to 1.5 times that
static void
test_partials_ring_as_long(void** state)
{
  (void)state;
  static const double LEAST_S[EARS_N_T60] = {8.0, 5.0, 1.7, 1.0, 0.8};
  static const double MOST_S[EARS_N_T60]  = {13.0, 8.0, 3.6, 2.1, 1.7};
  for (int k = 0; k < EARS_N_T60; ++k) {
    print_message("# T60, %.0f Hz on: p %.1f s, f %.1f s\n",
                  ears_t60_ranges[k].from_hz, soft.t60_s[k], hard.t60_s[k]);
    assert_in_range(1000.0 * soft.t60_s[k], 1000.0 * LEAST_S[k],
                    1000.0 * MOST_S[k]);
    assert_in_range(1000.0 * hard.t60_s[k], 1000.0 * LEAST_S[k],
                    1000.0 * MOST_S[k]);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_strength_brightens),
    cmocka_unit_test(test_slopes),
    cmocka_unit_test(test_crest),
    cmocka_unit_test(test_decay_ripples),
    cmocka_unit_test(test_inharmonicity),
    cmocka_unit_test(test_partials_ring_as_long),
  };
  return cmocka_run_group_tests(tests, measure_all, NULL);
}
