// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A whole row as a listener has it: seven stages play the demo's guitar, one
/// window switches them all to the untreated sound, and libebur128 (a reference
/// implementation of ITU-R BS.1770 and EBU R 128) judges how loud both are

#include "row_rig.h"

#include <ebur128.h>

/// What the row promises.  EBU R 128 (2014, recommendation i) allows 0.5 LU
/// between programmes that were levelled with care.
#define MOST_LU 0.3

#define ROW_HERE (4711U << 3U)

static playing stages[ROW_STAGES];

/// The recording is as much too soft as the clean-up's gain makes up for
#define RECORDED_DB (-9.0)

static void
open_desk(void)
{
  row_setup();
  for (int i = 0; i < ROW_STAGES; ++i) {
    seat* const s = &seats[i];
    seat_insert(s, row_stems[i], ROW_HERE);
    assert_true(playing_start(&stages[i], &s->form));
    if (i == 0) {
      s->value[seat_port(s, "gain_db")] = (float)-RECORDED_DB;
      for (uint32_t k = 0; k < stages[0].n_take; ++k) {
        stages[0].take[k] *= (float)db_to_gain(RECORDED_DB);
      }
    }
    seat_open(s);
  }
}

static void
close_desk(void)
{
  row_close();
  for (int i = 0; i < ROW_STAGES; ++i) {
    playing_stop(&stages[i]);
  }
}

/// The host: controls to the plugins, sound through them, meters to windows
static void
play_block(void)
{
  for (int i = 0; i < ROW_STAGES; ++i) {
    playing* const y = &stages[i];
    memcpy(y->port, seats[i].value, y->n_params * sizeof(float));
    if (i > 0) {
      memcpy(y->take, stages[i - 1].out[0], sizeof(y->out[0]));
      y->at = 0;
    }
    playing_run(y);
    for (uint32_t k = 0; k < y->n_meters; ++k) {
      frame_take_meter(seats[i].f, k, y->port[y->n_params + k]);
    }
  }
  row_now_s += ROW_LOOK_S;
  row_look();
}

/// Plays the first `n` blocks of the take; returns the loudness in LUFS
static double
play_passage(uint32_t n)
{
  double         lufs = 0;
  ebur128_state* s    = ebur128_init(1, TAKE_RATE_HZ, EBUR128_MODE_I);
  assert_non_null(s);
  for (stages[0].at = 0; n > 0; --n) {
    play_block();
    assert_int_equal(
      ebur128_add_frames_float(s, stages[ROW_STAGES - 1].out[0], PLAYING_BLOCK),
      0);
  }
  assert_int_equal(ebur128_loudness_global(s, &lufs), 0);
  ebur128_destroy(&s);
  return lufs;
}

static uint32_t
whole_take(void)
{
  return stages[0].n_take / PLAYING_BLOCK;
}

/// Plays the take from its beginning until a window has said something
static uint32_t
play_until(const char* said)
{
  uint32_t n = 0;
  for (stages[0].at = 0; strcmp(frame_said(seats[3].f), said) != 0; ++n) {
    assert_true(n < whole_take());
    play_block();
  }
  return n;
}

static void
turn(const char* said)
{
  seat_key(&seats[3]);
  for (int i = 0; i < 6; ++i) {
    play_block();
  }
  assert_string_equal(frame_said(seats[3].f), said);
}

/// Compares a passage that the windows have heard, there and back
static void
compare(const char* name, uint32_t n)
{
  double lufs[4];
  for (int i = 0; i < 4; ++i) {
    lufs[i] = play_passage(n);
    turn(i % 2 ? "7 of 7 windows: untreated" : "7 of 7 windows: treated");
  }
  printf("# %s, %.1f s: treated %.2f LUFS; untreated %+.2f, %+.2f LU\n", name,
         n * ROW_LOOK_S, lufs[1], lufs[0] - lufs[1], lufs[2] - lufs[1]);
  assert_near(lufs[0], lufs[1], MOST_LU);
  assert_near(lufs[2], lufs[1], MOST_LU);
  assert_near(lufs[3], lufs[1], MOST_LU);
}

/// As soon as it can be, in the soft beginning of the take, and all of it
static void
treated_and_untreated_are_equally_loud(void** state)
{
  (void)state;
  open_desk();
  seat_key(&seats[3]);
  compare("beginning", play_until("7 of 7 windows: untreated"));
  turn("7 of 7 windows: treated");
  (void)play_passage(whole_take());
  turn("7 of 7 windows: untreated");
  compare("take", whole_take());
  close_desk();
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(treated_and_untreated_are_equally_loud),
  };
  return cmocka_run_group_tests_name("track-row-played", tests, NULL, NULL);
}
