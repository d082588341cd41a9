// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The supply of the tubes: how far it falls under full output, and how fast it
/// sags and recovers, as tube_voice.h says

#include "tests/support/check.h"

#include "common/tube/tube_voice.h"

#include <string.h>

#define SAG_V 75.0

static tube_voice voice;

/// `n` grid lines of a square wave, `peak_v` at the last grid
static void
play(double peak_v, double sag_v, uint32_t n)
{
  for (uint32_t line = 0; line < n; ++line) {
    float              x[CONTROL_FRAMES];
    const float* const in[]  = {x};
    float* const       out[] = {x};
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      x[i] = (float)(i < CONTROL_FRAMES / 2 ? peak_v : -peak_v);
    }
    tube_voice_control(&voice, 0.0, sag_v);
    tube_voice_process(&voice, in, out, CONTROL_FRAMES);
  }
}

static void
test_times(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100.0, 48000.0, 96000.0};
  for (int r = 0; r < 3; ++r) {
    tube_voice_prepare();
    tube_voice_init(&voice, rates_hz[r], 1, 2,
                    oversample_factor(0, rates_hz[r]), 0.0);
    const double   line_hz = rates_hz[r] / CONTROL_FRAMES;
    const uint32_t n       = (uint32_t)(0.1 * line_hz);
    play(100.0, SAG_V, (uint32_t)line_hz);
    const double low = TUBE_SUPPLY_V - voice.supply_v;
    assert_true(low > 10.0);

    // No load on it any more: an exponential of 80 ms
    play(0.0, 0.0, n);
    const double left = (TUBE_SUPPLY_V - voice.supply_v) / low;
    assert_near(-(n / line_hz) / log(left), 0.080, 0.0008);

    // Sags as slowly as it recovers: so little that the load is the same
    play(100.0, 0.0, (uint32_t)(4.0 * line_hz));
    play(100.0, 0.1, n);
    const double first = TUBE_SUPPLY_V - voice.supply_v;
    play(100.0, 0.1, n);
    const double second = TUBE_SUPPLY_V - voice.supply_v;
    assert_near(-(n / line_hz) / log(second / first - 1.0), 0.080, 0.0008);
  }
}

static void
test_full_output_takes_what_is_set(void** state)
{
  (void)state;
  // 50 V mean of the rectified output is full; the fall goes with it
  tube_voice_prepare();
  tube_voice_init(&voice, 48000.0, 1, 2, 2, 0.0);
  play(100.0, SAG_V, 1500);
  const double load_v = (double)voice.load_v.z[3];
  assert_true(load_v > 20.0);
  assert_near(TUBE_SUPPLY_V - voice.supply_v, SAG_V * load_v / 50.0, 0.5);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_times),
    cmocka_unit_test(test_full_output_takes_what_is_set),
  };
  return cmocka_run_group_tests_name("tube_supply", tests, NULL, NULL);
}
