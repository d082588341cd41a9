// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The filter below the hearing: its analog formula at any rate, offsets gone,
/// the same bits however blocks are cut

#include "tests/support/check.h"
#include "tests/support/infra_cut_analog.h"

#include "common/filters/infra_cut.h"

#include <string.h>

#define N 65536

static float in[N], out[N], again[N];

static void
run(double edge_hz, double rate_hz, uint32_t block, float* to)
{
  infra_cut        c;
  infra_cut_memory memory = {{0.0}, {0.0}, 0};
  infra_cut_init(&c, edge_hz, rate_hz);
  for (uint32_t at = 0; at < N; at += block) {
    infra_cut_run(&c, &memory, in + at, to + at,
                  N - at < block ? N - at : block);
  }
}

/// Gain in dB of the impulse response in `out`
static double
gain_db(double f_hz, double rate_hz)
{
  double complex sum = 0.0;
  for (uint32_t i = 0; i < N; ++i) {
    sum += (double)out[i] * cexp(-2.0 * (double complex)_Complex_I * DSP_PI *
                                 f_hz / rate_hz * i);
  }
  return gain_to_db(cabs(sum) + 1e-30);
}

/// Generalised Chebyshev high-pass by its poles and zeros (Cameron 1982): in
/// the pass band to 0.02 dB, and where it must stop, at least as deep
static void
test_follows_the_analog_formula(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 96000.0, 192000.0};
  static const double edges[] = {44.0, 50.0, 58.0, INFRA_CUT_EDGE_HZ};
  memset(in, 0, sizeof(in));
  in[0] = 1.0F;
  for (int r = 0; r < 4; ++r) {
    for (int e = 0; e < 4; ++e) {
      run(edges[e], rates[r], 64, out);
      for (double f_hz = 40.0; f_hz < 10000.0; f_hz *= 1.41) {
        const double want = gain_to_db(cabs(infra_cut_analog(f_hz, edges[e])));
        assert_near(gain_db(f_hz, rates[r]), want, 0.02);
      }
      assert_near(gain_db(80.0, rates[r]), 0.0, 0.05);
    }
  }
}

static void
test_stops_below_the_hearing(void** state)
{
  (void)state;
  memset(in, 0, sizeof(in));
  in[0] = 1.0F;
  run(INFRA_CUT_EDGE_HZ, 48000.0, 64, out);
  for (double f_hz = 1.0; f_hz <= 20.0; f_hz += 0.5) {
    const double most_db = f_hz <= 0.303 * INFRA_CUT_EDGE_HZ ? -49.0 : -44.0;
    assert_true(gain_db(f_hz, 48000.0) < most_db);
  }
}

static void
test_takes_offsets_away(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < N; ++i) {
    in[i] = 0.5F;
  }
  run(INFRA_CUT_EDGE_HZ, 48000.0, 64, out);
  for (uint32_t i = N - 64; i < N; ++i) {
    assert_near((double)out[i], 0.0, 1e-6);
  }
}

static void
test_blocks_may_be_cut_anyhow(void** state)
{
  (void)state;
  static const uint32_t blocks[] = {1, 3, 7, 333, N};
  uint32_t              seed     = 1;
  for (uint32_t i = 0; i < N; ++i) {
    seed  = 1664525U * seed + 1013904223U; // Numerical Recipes
    in[i] = (float)seed / 4294967296.0F - 0.5F;
  }
  run(INFRA_CUT_EDGE_HZ, 48000.0, 64, out);
  for (int b = 0; b < 5; ++b) {
    run(INFRA_CUT_EDGE_HZ, 48000.0, blocks[b], again);
    assert_memory_equal(again, out, sizeof(out));
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_follows_the_analog_formula),
    cmocka_unit_test(test_stops_below_the_hearing),
    cmocka_unit_test(test_takes_offsets_away),
    cmocka_unit_test(test_blocks_may_be_cut_anyhow),
  };
  return cmocka_run_group_tests_name("infra_cut", tests, NULL, NULL);
}
