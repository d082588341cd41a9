// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A block of garbage from another plugin passes: through the built bundle,
/// every form of every plugin gives finite output at once, and 2 s later plays
/// what it would have played anyway, to -80 dB.

#include "tests/support/the_bundle.h"

#define RATE_HZ  48000.0
#define N        120000U // 2.5 s
#define AT       12007U  // Off the grid
#define BLOCK    64U
#define LATER    (AT + BLOCK + 96000U) // 2 s
#define LIMIT_DB (-80.0)

static float  in_data[2][N];
static float* in[2] = {in_data[0], in_data[1]};

/// Chords with some noise around -18 dBFS RMS, unlike on both sides
static void
fill_input(void)
{
  uint32_t seed = 1;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      const double t     = i / RATE_HZ;
      const double u     = fmod(t, 0.5);
      const double chord = sin(2.0 * DSP_PI * 110.0 * (1 + k) * t) +
                           0.6 * sin(2.0 * DSP_PI * 277.2 * t) +
                           0.3 * sin(2.0 * DSP_PI * 1318.5 * t);
      in[k][i] = (float)(0.2 * exp(-2.0 * u) * chord +
                         0.02 * (double)check_noise(&seed));
    }
  }
}

static void
play_all(const plugin_form* form, float* const* out)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, in, out, N, BLOCK);
  player_free(&y);
}

/// RMS of a - b from LATER on, in dB of that of b
static double
left_over_db(const float* a, const float* b)
{
  double off  = 0.0;
  double want = 0.0;
  for (uint32_t i = LATER; i < N; ++i) {
    const double d = (double)a[i] - (double)b[i];
    off += d * d;
    want += (double)b[i] * (double)b[i];
  }
  assert_true(want > 0.0);
  return 10.0 * log10(off / want + 1e-30);
}

static void
check_recovery(const plugin_form* form, void* data)
{
  static const float garbage[] = {NAN, INFINITY, -INFINITY, 1e30F, -1e30F};
  static float       want_data[2][N], got_data[2][N];
  float* const       want[2] = {want_data[0], want_data[1]};
  float* const       got[2]  = {got_data[0], got_data[1]};
  (void)data;

  fill_input();
  play_all(form, want);
  for (size_t g = 0; g < sizeof(garbage) / sizeof(garbage[0]); ++g) {
    fill_input();
    for (uint32_t i = AT; i < AT + BLOCK; ++i) {
      in[0][i] = in[1][i] = garbage[g];
    }
    play_all(form, got);
    for (uint32_t k = 0; k < form->n_out; ++k) {
      for (uint32_t i = 0; i < N; ++i) {
        assert_true(isfinite(got[k][i]));
      }
      const double db = left_over_db(got[k], want[k]);
      if (!(db < LIMIT_DB)) {
        fail_msg("%s: %.1f dB is left of %g after 2 s", form->uri, db,
                 (double)garbage[g]);
      }
    }
  }
}

static void
garbage_is_gone_after_2_s(void** state)
{
  (void)state;
  for_each_form(check_recovery, NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(garbage_is_gone_after_2_s),
  };
  return cmocka_run_group_tests_name("recovery", tests, load, unload);
}
