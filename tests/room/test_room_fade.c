// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How long a room takes to become another: new positions fade in over 30 ms,
/// by what becomes of a constant, a new network as room_late.h says, by its
/// state

#include "tests/support/check.h"

#include "common/room/room_early.h"
#include "common/room/room_late.h"

#define LINE_FRAMES 65536U

static float memory[LINE_FRAMES + CONTROL_FRAMES];

/// Time from one frame to another, linear between them, at which `y` passes
/// `level`, in frames
static double
passes(const float* y, uint32_t n, double level)
{
  for (uint32_t i = 1; i < n; ++i) {
    const double a = (double)y[i - 1];
    const double b = (double)y[i];
    if ((a < level) != (b < level)) {
      return i - 1 + (level - a) / (b - a);
    }
  }
  fail_msg("%g is not passed", level);
  return 0.0;
}

static void
check_fade(double rate_hz)
{
  static room_early e;
  static float      past[0x8000];
  const uint32_t    n_lines = (uint32_t)(0.12 * rate_hz) / CONTROL_FRAMES;
  const uint32_t    settle  = (uint32_t)(0.3 * rate_hz) / CONTROL_FRAMES;
  const decay_law   law     = room_stretch(room_decay(ROOM_TREATED), 1e4);
  room_place        place   = {
             .volume_m3 = ROOM_VOLUME_M3, .distance_m = 1.0, .spacing_m = 0.8};
  tap_line source[2];
  tap_line_init(&source[0], memory, LINE_FRAMES);
  tap_line_reset(&source[0]);
  source[1] = source[0];
  memset(&e, 0, sizeof(e));
  room_early_init(&e, rate_hz);
  room_early_set(&e, place);
  room_early_reset(&e, &law);

  // Walls that take next to nothing, and so remember nothing
  float one[CONTROL_FRAMES];
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    one[i] = 1.0F;
  }
  uint32_t at = 0;
  for (uint32_t line = 0; line < settle + n_lines; ++line) {
    float        left[CONTROL_FRAMES], right[CONTROL_FRAMES];
    float* const out[] = {left, right};
    if (line == settle) {
      place.distance_m = 2.0;
      room_early_set(&e, place);
    }
    room_early_control(&e, true);
    tap_line_push(&source[0], one, CONTROL_FRAMES);
    source[1] = source[0];
    room_early_process(&e, source, out, CONTROL_FRAMES);
    if (line >= settle) {
      memcpy(past + at, left, sizeof(left));
      at += CONTROL_FRAMES;
    }
  }

  // The share 6 x^5 - 15 x^4 + 10 x^3 (crossfade.h) is 0.1 at x = 0.24664, by
  // bisection, and 0.9 as far from the end
  const double from = (double)past[0];
  const double way  = (double)past[at - 1] - from;
  const double took =
    passes(past, at, from + 0.9 * way) - passes(past, at, from + 0.1 * way);
  const double fade_ms = 1e3 * took / rate_hz / (1.0 - 2.0 * 0.24664);
  print_message("# %.0f Hz: %.2f ms\n", rate_hz, fade_ms);
  assert_near(fade_ms, 30.0, 0.3);
}

static void
test_positions_fade_over_30_ms(void** state)
{
  (void)state;
  check_fade(44100.0);
  check_fade(48000.0);
  check_fade(96000.0);
}

/// Grid lines, in ms, for which `l` is in `state` (TAIL_STEADY: for which the
/// delay in front of it fades)
static double
lasts_ms(room_late* l, tail_state state, double rate_hz)
{
  uint32_t n = 0;
  for (uint32_t line = 0; line < 100000; ++line) {
    float           x[CONTROL_FRAMES] = {0};
    static float    y[2][CONTROL_FRAMES];
    float* const    out[] = {y[0], y[1]};
    static tap_line source[2];
    room_late_control(l, true);
    for (uint32_t k = 0; k < 2; ++k) {
      tap_line_init(&source[k], memory, LINE_FRAMES);
      tap_line_push(&source[k], x, CONTROL_FRAMES);
    }
    room_late_process(l, source, out, CONTROL_FRAMES);
    const bool is_there =
      state == TAIL_STEADY ? crossfade_runs(&l->delay.fade) : l->state == state;
    n += is_there;
    if (n && !is_there) {
      break;
    }
  }
  return 1e3 * n * CONTROL_FRAMES / rate_hz;
}

static void
test_network_fades_over_50_ms(void** state)
{
  (void)state;
  static const double rates_hz[] = {96000.0, 192000.0};
  const decay_law     law        = room_decay(ROOM_TREATED);
  for (int r = 0; r < 2; ++r) {
    static room_late late;
    const double     near_ms = 1.5e3 * CONTROL_FRAMES / rates_hz[r];
    room_lengths     lengths = {.volume_m3 = ROOM_VOLUME_M3, .stretch = 1.0};
    memset(&late, 0, sizeof(late));
    room_late_init(&late, rates_hz[r]);
    room_late_set(&late, lengths, 0.02);
    room_late_set_spacing(&late, 0.8);
    room_late_reset(&late, &law);

    room_late_set(&late, lengths, 0.03);
    assert_near(lasts_ms(&late, TAIL_STEADY, rates_hz[r]), 30.0, near_ms);
    lengths.volume_m3 = 100.0;
    room_late_set(&late, lengths, 0.03);
    assert_near(lasts_ms(&late, TAIL_FILLING, rates_hz[r]), 150.0, near_ms);
    assert_near(lasts_ms(&late, TAIL_FADING, rates_hz[r]), 50.0, near_ms);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_positions_fade_over_30_ms),
    cmocka_unit_test(test_network_fades_over_50_ms),
  };
  return cmocka_run_group_tests_name("room_fade", tests, NULL, NULL);
}
