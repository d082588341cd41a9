// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Groups of windows: equal steps, kept differences, ends, absence

#include "follow_rig.h"

/// Three tube stages at 18, 22 and 26 dB of drive, grouped
static void
three_tubes(void)
{
  for (int i = 0; i < 3; ++i) {
    track* const t           = insert(i, "tube-stage");
    *value_of(t, "drive_db") = 18.0F + 4.0F * (float)i;
    open_window(t);
  }
  group_up(3);
}

static void
equal_steps_keep_the_difference(void** state)
{
  (void)state;
  three_tubes();
  drag(&tracks[0], "drive_db", 20);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 24, 0);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 28, 0);
  drag(&tracks[2], "drive_db", 25.5F); // Whoever's hand moves leads
  assert_float_equal(*value_of(&tracks[0], "drive_db"), 17.5, 0);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 21.5, 0);
  for (int i = 0; i < 3; ++i) {
    assert_int_equal(tracks[i].f.place, tracks[0].f.place);
    assert_float_equal(*value_of(&tracks[i], "group_move"),
                       (float)tracks[0].f.place, 0);
  }
  assert_int_equal(tracks[1].n_touches, 2); // One for each gesture
  assert_int_equal(tracks[1].held[port_of(&tracks[1], "drive_db")], 0);
}

static void
log_scales_follow_by_a_factor_and_choices_become_equal(void** state)
{
  (void)state;
  track* const a         = insert(0, "air-shelf");
  track* const b         = insert(1, "air-shelf");
  *value_of(a, "air_hz") = 10000;
  *value_of(b, "air_hz") = 8000;
  open_window(a);
  open_window(b);
  group_up(2);
  drag(a, "air_hz", 12000);
  assert_near((double)*value_of(b, "air_hz"), 9600, 0.5);

  track* const c = insert(2, "tube-stage");
  track* const d = insert(3, "tube-stage");
  open_window(c);
  open_window(d);
  follow_join(&c->f, 1, 0, 0);
  follow_join(&d->f, 1, c->f.song, c->f.shared);
  drag(c, "stages", 2);
  assert_float_equal(*value_of(d, "stages"), 2, 0);
}

static void
an_end_holds_and_comes_back(void** state)
{
  (void)state;
  three_tubes();
  drag(&tracks[0], "drive_db", 45); // +27: the third would be at 53
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 48, 0);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 48, 0);
  drag(&tracks[0], "drive_db", 40);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 44, 0);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 48, 0);
  // Closed and opened in between, it still knows what it owes
  close_window(&tracks[2]);
  open_window(&tracks[2]);
  assert_false(tracks[2].f.is_behind);
  drag(&tracks[0], "drive_db", 18);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 22, 0);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 26, 0);
}

static void
what_the_host_moves_from_an_end_owes_nothing(void** state)
{
  (void)state;
  three_tubes();
  drag(&tracks[0], "drive_db", 45);
  *value_of(&tracks[2], "drive_db") = 30; // Automation
  drag(&tracks[0], "drive_db", 44);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 29, 0);
}

static void
a_closed_window_is_behind_and_catches_up(void** state)
{
  (void)state;
  three_tubes();
  close_window(&tracks[1]);
  drag(&tracks[0], "drive_db", 20);
  drag(&tracks[0], "bright_db", 3);
  drag(&tracks[0], "drive_db", 21);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 22, 0);

  float to = 0;
  open_window(&tracks[1]);
  assert_true(tracks[1].f.is_behind);
  assert_true(
    follow_target(&tracks[1].f, port_of(&tracks[1], "drive_db"), &to));
  assert_float_equal(to, 25, 0);
  assert_false(follow_target(&tracks[1].f, port_of(&tracks[1], "sag_pc"), &to));

  // While behind it neither follows nor leads
  drag(&tracks[0], "drive_db", 22);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 22, 0);
  drag(&tracks[1], "sag_pc", 50);
  assert_float_equal(*value_of(&tracks[0], "sag_pc"), 25, 0);

  let_pass(0.2);
  follow_catch_up(&tracks[1].f);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 26, 0);
  assert_near((double)(*value_of(&tracks[1], "bright_db") -
                       *value_of(&tracks[0], "bright_db")),
              0, 1e-6);
  assert_false(tracks[1].f.is_behind);
  drag(&tracks[0], "drive_db", 18);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 22, 0);
}

static void
parts_can_be_caught_up_with_and_the_rest_kept(void** state)
{
  (void)state;
  three_tubes();
  const float bright = *value_of(&tracks[1], "bright_db");
  close_window(&tracks[1]);
  drag(&tracks[0], "drive_db", 20);
  drag(&tracks[0], "bright_db", 4);
  drag(&tracks[0], "stages", 2);
  open_window(&tracks[1]);
  follow_catch_up_one(&tracks[1].f, port_of(&tracks[1], "drive_db"));
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 24, 0);
  assert_true(tracks[1].f.is_behind);

  // The host saves, closes, and opens: the part is not caught up with twice
  close_window(&tracks[1]);
  open_window(&tracks[1]);
  float to = 0;
  assert_true(tracks[1].f.is_behind);
  assert_false(
    follow_target(&tracks[1].f, port_of(&tracks[1], "drive_db"), &to));
  assert_true(follow_target(&tracks[1].f, port_of(&tracks[1], "stages"), &to));
  follow_keep(&tracks[1].f);
  assert_false(tracks[1].f.is_behind);
  assert_float_equal(*value_of(&tracks[1], "bright_db"), bright, 0);
  close_window(&tracks[1]);
  open_window(&tracks[1]);
  assert_false(tracks[1].f.is_behind);
}

static void
a_song_of_last_week_is_behind_again(void** state)
{
  (void)state;
  three_tubes();
  const track saved = tracks[1];
  drag(&tracks[0], "drive_db", 20);
  close_window(&tracks[1]);
  memcpy(tracks[1].value, saved.value, sizeof(saved.value));
  open_window(&tracks[1]);
  assert_true(tracks[1].f.is_behind);
  follow_catch_up(&tracks[1].f);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 24, 0);
}

/// Two songs, one a copy of the other, each with two tracks
static void
copied_song(void)
{
  three_tubes();
  close_window(&tracks[2]);
  for (int i = 0; i < 2; ++i) {
    close_window(&tracks[i]);
    tracks[3 + i] = tracks[i];
  }
}

static void
a_copied_song_goes_its_own_way(void** state)
{
  (void)state;
  copied_song();
  open_window(&tracks[3]); // The copy, with one window open: +6
  drag(&tracks[3], "drive_db", 24);
  close_window(&tracks[3]);
  open_window(&tracks[0]); // The first song: it is not told of the copy's move
  // as its own past, but asked
  assert_true(tracks[0].f.is_behind);
  follow_keep(&tracks[0].f);
  assert_float_equal(*value_of(&tracks[0], "drive_db"), 18, 0);
}

static void
of_two_branches_the_neighbours_comes_first(void** state)
{
  (void)state;
  copied_song();
  open_window(&tracks[0]);
  open_window(&tracks[1]);
  close_window(&tracks[1]);
  drag(&tracks[0], "drive_db", 20); // The first song: +2
  close_window(&tracks[0]);
  // The copy goes on from before: as with a window that was open all the time
  const uint32_t here = tracks[0].f.shared;
  tracks[3].is_open   = false;
  open_window(&tracks[3]);
  assert_true(tracks[3].f.is_behind);
  follow_keep(&tracks[3].f);
  assert_int_equal(tracks[3].f.shared, here);
  drag(&tracks[3], "drive_db", 24); // +6 on top
  // Track 1 of the first song, next to an open neighbour that stands at +2
  open_window(&tracks[0]);
  close_window(&tracks[3]);
  assert_true(tracks[0].f.is_behind); // By the copy's move
}

static void
members_of_two_songs_do_not_hear_each_other(void** state)
{
  (void)state;
  for (int i = 0; i < 4; ++i) {
    open_window(insert(i, "tube-stage"));
  }
  follow_join(&tracks[0].f, 1, 0, 0);
  follow_join(&tracks[1].f, 1, tracks[0].f.song, 0);
  follow_join(&tracks[2].f, 1, 0, 0);                // Another song's P
  follow_join(&tracks[3].f, 2, tracks[0].f.song, 0); // Q of the same
  drag(&tracks[0], "drive_db", 20);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 20, 0);
  assert_float_equal(*value_of(&tracks[2], "drive_db"), 18, 0);
  assert_float_equal(*value_of(&tracks[3], "drive_db"), 18, 0);
}

static void
what_belongs_to_a_track_or_is_left_alone_stays(void** state)
{
  (void)state;
  track* const a = insert(0, "di-cleanup");
  track* const b = insert(1, "di-cleanup");
  open_window(a);
  open_window(b);
  group_up(2);
  drag(a, "gain_db", 6); // The alignment of one guitar
  assert_float_equal(*value_of(b, "gain_db"), 0, 0);
  drag(a, "enabled", 0);
  assert_float_equal(*value_of(b, "enabled"), 1, 0);

  const float body = *value_of(b, "body_db");
  follow_leave_alone(&b->f, port_of(b, "body_db"), true);
  drag(a, "body_db", 3);
  assert_float_equal(*value_of(b, "body_db"), body, 0);
  // Taken in again as it is, it follows from there
  follow_leave_alone(&b->f, port_of(b, "body_db"), false);
  assert_false(b->f.is_behind);
  drag(a, "body_db", 4);
  assert_near((double)*value_of(b, "body_db"), (double)body + 1, 1e-5);
}

static void
a_lost_journal_is_said(void** state)
{
  (void)state;
  char path[256];
  three_tubes();
  close_window(&tracks[1]);
  drag(&tracks[0], "drive_db", 20);
  journal_path(&tracks[0], path);
  assert_int_equal(unlink(path), 0);
  open_window(&tracks[1]);
  // It stands where the song began, and nobody has moved as far as is known
  drag(&tracks[0], "drive_db", 21);
  let_pass(0.3);
  assert_true(tracks[1].f.is_lost);
  follow_keep(&tracks[1].f);
  assert_false(tracks[1].f.is_lost);
  assert_int_equal(tracks[1].f.shared, tracks[0].f.shared);
  drag(&tracks[0], "drive_db", 22);
  assert_float_equal(*value_of(&tracks[1], "drive_db"), 23, 0);
}

static void
a_damaged_journal_never_moves_anything_by_chance(void** state)
{
  (void)state;
  char path[256];
  three_tubes();
  drag(&tracks[0], "drive_db", 20);
  close_window(&tracks[1]);
  drag(&tracks[0], "drive_db", 21);
  journal_path(&tracks[0], path);
  FILE* const file = fopen(path, "a");
  assert_non_null(file);
  static const char* const lines[] = {
    "move",
    "move 12",
    "move 000001 after",
    "move zzzzzz after 000001 drive_db +5",
    "move 000001 after 000000 drive_db",
    "move 000001 after 000000 drive_db +x",
    "move 000001 after 000000 drive_db +2000000000",
    "move 000001 after 000000 drive_db =1",
    "move 000001 after 000000 stages +1",
    "move 000001 after 000000 stages =7",
    "move -00001 after 000000 drive_db +1",
    "more 000001 after 000000 drive_db +1",
    "move 1000000 after 000000",
    "move 000001 before 000000",
    "part 000001 after",
    "\t\x01\xff ",
  };
  for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); ++i) {
    (void)fprintf(file, "%s\n", lines[i]);
  }
  (void)fprintf(file, "move 000002 after 0000"); // Cut off
  assert_int_equal(fclose(file), 0);

  float to = 0;
  open_window(&tracks[1]);
  assert_true(
    follow_target(&tracks[1].f, port_of(&tracks[1], "drive_db"), &to));
  assert_float_equal(to, 25, 0);
}

static void
hostile_messages_do_nothing(void** state)
{
  (void)state;
  three_tubes();
  follow* const f = &tracks[1].f;
  uint32_t      x = 1;
  float         before[JOURNAL_PARAMS];
  memcpy(before, tracks[1].value, sizeof(before));
  for (int i = 0; i < 200000; ++i) {
    window_message w;
    for (int k = 0; k < 5; ++k) {
      x ^= x << 13U;
      x ^= x >> 17U;
      x ^= x << 5U;
      w.word[k] = x;
    }
    if (i % 2) { // Right group and song, a stranger's gesture and wild numbers
      w.word[0] = (x % MESSAGE_KINDS) << 24U | f->song;
      w.word[1] = f->stem << 27U | 1U << 24U | 77U;
      w.word[2] = i % 4 == 1 ? w.word[2] % 64 : w.word[2];
    }
    follow_hear(f, &w);
  }
  // Only by the rules of a group may a value have moved
  for (uint32_t p = 0; p < shell_param_count(tracks[1].plugin); ++p) {
    const param_info* const info = shell_param(tracks[1].plugin, p);
    const float             v    = tracks[1].value[p];
    assert_true(v >= info->min && v <= info->max);
    if (!follow_takes_part(f, p) && !info->is_hidden) {
      assert_float_equal(v, before[p], 0);
    }
  }
  assert_true(f->n_members <= FOLLOW_MEMBERS);
}

static void
a_leader_that_vanishes_lets_go(void** state)
{
  (void)state;
  three_tubes();
  const uint32_t drive = port_of(&tracks[0], "drive_db");
  follow_lead(&tracks[0].f, drive);
  tracks[0].value[drive] = 20;
  follow_lead_to(&tracks[0].f, drive);
  assert_int_equal(tracks[1].held[drive], 1);
  for (int i = 0; i < 10; ++i) {
    let_pass(1.0); // A hand that rests is not gone
  }
  assert_int_equal(tracks[1].held[drive], 1);
  tracks[0].is_open = false; // The host has died
  for (int i = 0; i < 10; ++i) {
    let_pass(1.0);
  }
  assert_int_equal(tracks[1].held[drive], 0);
}

static void
a_long_journal_keeps_its_newer_half(void** state)
{
  (void)state;
  char path[256];
  three_tubes();
  const journal_key  key  = {tracks[0].plugin, 'P', tracks[0].f.song};
  const uint32_t     port = port_of(&tracks[0], "drive_db");
  const journal_part up   = {port, false, 1000};
  uint32_t           at   = tracks[0].f.shared;
  const int          n    = 30000; // Of some 40 bytes
  for (int i = 0; i < n; ++i) {
    assert_true(journal_write(&key, (uint32_t)i + 1, at, false, &up, 1));
    at = (uint32_t)i + 1;
  }
  journal_path(&tracks[0], path);
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  assert_int_equal(fseek(file, 0, SEEK_END), 0);
  assert_true(ftell(file) < 1100000);
  assert_int_equal(fclose(file), 0);

  journal     j;
  journal_way way;
  assert_true(journal_read(&j, &key));
  assert_true(journal_way_to(&j, at - 1000, at, &way));
  assert_int_equal(way.by[port], 1000 * 1000);
  assert_false(journal_way_to(&j, 1, at, &way)); // Too long ago to tell
  journal_free(&j);
}

int
main(void)
{
#define TEST(x) cmocka_unit_test_setup_teardown(x, rig_setup, rig_teardown)
  const struct CMUnitTest tests[] = {
    TEST(equal_steps_keep_the_difference),
    TEST(log_scales_follow_by_a_factor_and_choices_become_equal),
    TEST(an_end_holds_and_comes_back),
    TEST(what_the_host_moves_from_an_end_owes_nothing),
    TEST(a_closed_window_is_behind_and_catches_up),
    TEST(parts_can_be_caught_up_with_and_the_rest_kept),
    TEST(a_song_of_last_week_is_behind_again),
    TEST(a_copied_song_goes_its_own_way),
    TEST(of_two_branches_the_neighbours_comes_first),
    TEST(members_of_two_songs_do_not_hear_each_other),
    TEST(what_belongs_to_a_track_or_is_left_alone_stays),
    TEST(a_lost_journal_is_said),
    TEST(a_damaged_journal_never_moves_anything_by_chance),
    TEST(hostile_messages_do_nothing),
    TEST(a_leader_that_vanishes_lets_go),
    TEST(a_long_journal_keeps_its_newer_half),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
