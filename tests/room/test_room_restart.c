// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// A room that begins anew, perhaps in a block that is heard, computes only what
// its settings have changed, and sounds as a new one

#include "tests/support/check.h"

#include "common/room/room_late.h"

#include <stdlib.h>
#include <string.h>

#define RATE_HZ 48000.0
#define FRAMES  4800U

/// No room computes it
#define MARK 123.0F

static const room_lengths lengths = {.volume_m3 = 60.0, .stretch = 1.0};

static void
test_early_taps_are_kept(void** state)
{
  (void)state;
  static room_early e;
  const decay_law   law   = room_decay(ROOM_TREATED);
  room_place        place = {
           .volume_m3 = 60.0, .distance_m = 1.5, .spacing_m = 0.5, .predelay_s = 0.0};
  room_early_init(&e, RATE_HZ);
  room_early_set(&e, place);
  room_early_reset(&e, &law);
  room_tap* const tap = &e.bank[e.active].tap[1][1][3];
  tap->gain           = MARK;
  room_early_reset(&e, &law);
  assert_true(tap->gain == MARK); // The same place

  place.distance_m = 2.0;
  room_early_set(&e, place);
  room_early_reset(&e, &law);
  assert_true(e.bank[e.active].tap[1][1][3].gain != MARK);
}

static room_late*
late_new(const decay_law* law)
{
  room_late* const l = test_calloc(1, sizeof(room_late));
  room_late_init(l, RATE_HZ);
  room_late_set(l, lengths, 0.01);
  room_late_set_spacing(l, 0.5);
  room_late_reset(l, law);
  return l;
}

static void
test_late_lines_are_kept(void** state)
{
  (void)state;
  const decay_law  law = room_decay(ROOM_TREATED);
  room_late* const l   = late_new(&law);
  room_tail* const t   = &l->tail[0];
  const float      was = t->gain;
  t->gain              = MARK;
  room_late_reset(l, &law);
  assert_true(t->gain == MARK); // Nothing has changed

  const decay_law longer = room_stretch(law, 2.0);
  room_late_reset(l, &longer);
  assert_true(t->gain == was);

  t->gain = MARK;
  room_late_set(l, (room_lengths){.volume_m3 = 90.0, .stretch = 1.0}, 0.01);
  room_late_reset(l, &longer);
  assert_true(t->gain != MARK);
  test_free(l);
}

static void
play(room_late* l, float (*out)[FRAMES])
{
  static float line[2][ROOM_PAST_FRAMES + CONTROL_FRAMES];
  tap_line     past[2];
  uint32_t     seed = 5;
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_init(&past[k], line[k], ROOM_PAST_FRAMES);
    memset(line[k], 0, sizeof(line[k]));
    tap_line_restart(&past[k]);
  }
  for (uint32_t at = 0; at < FRAMES; at += CONTROL_FRAMES) {
    float        x[CONTROL_FRAMES];
    float* const to[] = {out[0] + at, out[1] + at};
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      x[i] = check_noise(&seed);
    }
    tap_line_push(&past[0], x, CONTROL_FRAMES);
    tap_line_push(&past[1], x, CONTROL_FRAMES);
    room_late_control(l, true);
    room_late_process(l, past, to, CONTROL_FRAMES);
  }
}

// Stopped at any turn on its way to another law, it begins as a new one that
// decays by it
static void
test_late_begins_as_new(void** state)
{
  (void)state;
  static float    want[2][FRAMES], got[2][FRAMES];
  const decay_law law    = room_decay(ROOM_TREATED);
  const decay_law longer = room_stretch(law, 2.0);
  room_late*      l      = late_new(&longer);
  play(l, want);
  test_free(l);
  for (uint32_t turns = 0; turns <= ROOM_LAW_LINES; ++turns) {
    l = late_new(&law);
    play(l, got);
    room_late_aim(l, &longer);
    for (uint32_t turn = 0; turn < turns; ++turn) {
      room_late_push_decay(l, turn);
    }
    room_late_reset(l, &longer);
    play(l, got);
    assert_memory_equal(got, want, sizeof(want));
    test_free(l);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_early_taps_are_kept),
    cmocka_unit_test(test_late_lines_are_kept),
    cmocka_unit_test(test_late_begins_as_new),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
