// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Gliding controls: where they arrive, how fast, and that it is inaudible

#include "tests/support/check.h"
#include "tests/support/click.h"

#include "common/core/glide.h"

static void
test_three_smoothers_in_series(void** state)
{
  (void)state;
  // Step response of three equal poles: 1 - exp(-x) (1 + x + x^2/2), x = t/tau
  const double rate_hz = 192000.0;
  const double share   = glide_share(rate_hz);
  glide        g       = {0};
  glide_set(&g, 1.0);
  for (int line = 1; line <= 240; ++line) {
    const double got = glide_next(&g, share);
    const double x   = line * CONTROL_FRAMES / rate_hz / GLIDE_TAU_S;
    // Discrete poles run ahead of the analog ones by a line and a half
    const double ahead = x + 1.5 * CONTROL_FRAMES / rate_hz / GLIDE_TAU_S;
    const double want  = 1.0 - exp(-x) * (1.0 + x + 0.5 * x * x);
    const double most = 1.0 - exp(-ahead) * (1.0 + ahead + 0.5 * ahead * ahead);
    assert_true(got >= want - 1e-3 && got <= most + 1e-3);
  }
}

static void
test_arrives_exactly_and_stays(void** state)
{
  (void)state;
  static const double rates_hz[] = {8000, 44100, 384000};
  for (int r = 0; r < 3; ++r) {
    const double share = glide_share(rates_hz[r]);
    glide        g     = {0};
    glide_set(&g, -23.7);
    double seconds = 0.0;
    while (g.moving) {
      glide_next(&g, share);
      seconds += CONTROL_FRAMES / rates_hz[r];
      assert_true(seconds < 0.2);
    }
    assert_true(g.y == -23.7 && g.y1 == g.y && g.y2 == g.y);
    assert_true(glide_next(&g, share) == -23.7);
    glide_set(&g, -23.7);
    assert_false(g.moving);
  }
}

/// A stage of nothing but glides
typedef struct {
  float gain_db, mix_pc;
} pair_params;

#define PAIR_GLIDES(GLIDE, SLOW)  \
  GLIDE(gain, (double)p->gain_db) \
  SLOW(mix, 0.1, pc_to_share(p->mix_pc))

typedef struct {
  GLIDES_FIELDS(PAIR_GLIDES)
} pair;

GLIDES_DEFINE(pair, PAIR_GLIDES)

/// All rows of a table get all verbs, each at its own speed
static void
test_rows_glide(void** state)
{
  (void)state;
  const double fast = glide_share(48000.0);
  const double slow = one_pole_share(0.1, 48000.0 / CONTROL_FRAMES);
  glide        gain = {0};
  glide        mix  = {0};
  pair         s    = {0};
  pair_glides_init(&s, 48000.0);
  assert_int_equal(pair_n_glides, 2);
  assert_false(pair_glides_next(&s));

  pair_glides_set(&s, &(pair_params){-6.0F, 50.0F});
  glide_set(&gain, -6.0);
  glide_set(&mix, 0.5);
  while (mix.moving) {
    const double want_gain = glide_next(&gain, fast);
    const double want_mix  = glide_next(&mix, slow);
    assert_true(pair_glides_next(&s)); // Also on the line of the arrival
    assert_true(s.gain.y == want_gain && s.mix.y == want_mix);
  }
  assert_false(pair_glides_next(&s));

  pair_glides_set(&s, &(pair_params){3.0F, 0.0F});
  pair_glides_snap(&s);
  assert_false(pair_glides_next(&s));
  assert_true(s.gain.y == 3.0 && s.mix.y == 0.0);
}

/// A target that turns back while the value happens to be near it
static void
test_does_not_stop_short(void** state)
{
  (void)state;
  const double share = glide_share(48000.0);
  glide        g     = {.target = 0.0, .y1 = 0.0, .y2 = 1e-3, .moving = true};
  glide_next(&g, share);
  assert_true(g.moving);
}

/// A quadratic B-spline: half way between the last two values at the line, and
/// 1/8, 3/4, 1/8 of the last three in the middle
static void
test_ramp_is_a_spline(void** state)
{
  (void)state;
  const double p[] = {0.0, 0.0, 1.0, -2.0, 5.0, 5.0, 5.0, 5.0};
  ramp         r;
  ramp_snap(&r, p[0]);
  for (int line = 2; line < 8; ++line) {
    const bool moving = ramp_push(&r, p[line]);
    assert_true(moving == (line < 6));
    for (int i = 0; i < CONTROL_FRAMES; ++i) {
      const float v = ramp_next(&r);
      if (i == 0) {
        assert_near((double)v, 0.5 * (p[line - 2] + p[line - 1]), 1e-6);
      }
      if (i == CONTROL_FRAMES / 2) {
        const double want =
          0.125 * p[line - 2] + 0.75 * p[line - 1] + 0.125 * p[line];
        assert_near((double)v, want, 1e-6);
      }
    }
  }
  assert_true(ramp_next(&r) == 5.0F);
}

/// A gain of 1 switched on and off, by a glide or by one one-pole per frame
static double
residue_of_a_step_db(bool is_glide, double rate_hz)
{
  const uint32_t n     = 32768;
  const double   share = glide_share(rate_hz);
  const double   plain = one_pole_share(GLIDE_TAU_S, rate_hz);
  double*        x     = malloc(n * sizeof(double));
  assert_non_null(x);
  glide  g = {0};
  ramp   v;
  double y = 0.0;
  ramp_snap(&v, 0.0);
  for (uint32_t i = 0; i < n; ++i) {
    const double target = i >= 4096 && i < 20480 ? 1.0 : 0.0;
    if (i % CONTROL_FRAMES == 0) {
      glide_set(&g, target);
      ramp_push(&v, glide_next(&g, share));
    }
    y += plain * (target - y);
    x[i] = is_glide ? (double)ramp_next(&v) : y;
  }
  click_high_pass(x, n, CLICK_EDGE_HZ, rate_hz);
  const double peak_db = click_peak_db(x, n);
  free(x);
  return peak_db;
}

static void
test_a_gain_step_leaves_nothing_above_4_khz(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000};
  for (int r = 0; r < 4; ++r) {
    assert_below(residue_of_a_step_db(true, rates_hz[r]), -100.0);
    // The measurement does see what a plain smoother leaves
    assert_near(residue_of_a_step_db(false, rates_hz[r]), -57.0, 1.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_three_smoothers_in_series),
    cmocka_unit_test(test_arrives_exactly_and_stays),
    cmocka_unit_test(test_rows_glide),
    cmocka_unit_test(test_does_not_stop_short),
    cmocka_unit_test(test_ramp_is_a_spline),
    cmocka_unit_test(test_a_gain_step_leaves_nothing_above_4_khz),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
