// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The two qualities of the plate: a reset, or a quality that comes back,
/// begins with an empty plate, and a change takes the times that plate_body.h
/// states

#include "tests/support/check.h"

#include "common/plate/plate_body.h"

#define RATE_HZ 48000.0
#define LINE_HZ (RATE_HZ / CONTROL_FRAMES)

static plate_body* body;

static int
load(void** state)
{
  (void)state;
  body = calloc(1, sizeof(*body));
  assert_non_null(body);
  assert_true(plate_body_init(body, RATE_HZ));
  return 0;
}

static int
unload(void** state)
{
  (void)state;
  free(body);
  return 0;
}

static void
start(plate_quality quality)
{
  const plate_decay decay = {4.0, 3.0, 1.0};
  plate_body_set_decay(body, &decay);
  plate_body_choose(body, quality);
  plate_body_reset(body);
}

/// Play noise of level `left` and `right`; the highest output
static double
play(float left, float right, double seconds)
{
  static uint32_t seed = 5;
  double          peak = 0.0;
  for (uint32_t line = 0; line < (uint32_t)(seconds * LINE_HZ); ++line) {
    float              x[2][CONTROL_FRAMES], y[2][CONTROL_FRAMES];
    const float* const in[]  = {x[0], x[1]};
    float* const       out[] = {y[0], y[1]};
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      x[0][i] = left * check_noise(&seed);
      x[1][i] = right * check_noise(&seed);
    }
    plate_body_control(body);
    plate_body_process(body, in, out, CONTROL_FRAMES);
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      peak = fmax(peak, fmax(fabs((double)y[0][i]), fabs((double)y[1][i])));
    }
  }
  return peak;
}

static void
test_reset_empties_it(void** state)
{
  (void)state;
  for (uint32_t quality = 0; quality < 2; ++quality) {
    for (uint32_t side = 0; side < 2; ++side) {
      start((plate_quality)quality);
      assert_true(play(side ? 0.0F : 0.5F, side ? 0.5F : 0.0F, 0.5) > 0.01);
      plate_body_reset(body);
      assert_true(play(0.0F, 0.0F, 0.5) == 0.0);
    }
  }
}

static void
test_comes_back_empty(void** state)
{
  (void)state;
  // Filled, then left until it stands still, then chosen again in silence.  The
  // other one has heard nothing.
  for (uint32_t quality = 0; quality < 2; ++quality) {
    const plate_quality it = (plate_quality)quality;
    start(it);
    play(0.5F, 0.5F, 0.5);
    plate_body_choose(body, 1 - it);
    assert_true(play(0.0F, 0.0F, 1.0) > 1e-3);
    assert_false(body->voice[it].running);
    plate_body_choose(body, it);
    assert_true(play(0.0F, 0.0F, 0.5) == 0.0);
  }
}

static void
test_change_takes_its_time(void** state)
{
  (void)state;
  const double line_ms = 1e3 / LINE_HZ;
  for (uint32_t quality = 0; quality < 2; ++quality) {
    const plate_quality it = (plate_quality)quality;
    plate_voice* const  v  = body->voice;
    start(it);
    play(0.1F, 0.1F, 0.1);
    plate_body_choose(body, 1 - it);
    double opens_ms = 0.0;
    double rings_ms = 0.0;
    while (v[it].running) {
      play(0.1F, 0.1F, 1.5 / LINE_HZ);
      opens_ms += v[1 - it].gate < 1.0 ? line_ms : 0.0;
      rings_ms += v[it].sound > 0.0 ? line_ms : 0.0;
      assert_true(v[1 - it].sound == v[1 - it].gate);
      assert_near(v[it].gate, 1.0 - v[1 - it].gate, 1e-12);
    }
    assert_near(opens_ms, 20.0, 1.5 * line_ms);
    assert_near(rings_ms, 400.0, 1.5 * line_ms);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_reset_empties_it),
    cmocka_unit_test(test_comes_back_empty),
    cmocka_unit_test(test_change_takes_its_time),
  };
  return cmocka_run_group_tests_name("plate_body", tests, load, unload);
}
