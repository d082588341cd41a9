// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A session never deletes what it reads: no track, setup, base or session may
/// lie in the folder that it replaces, under whatever name

#include "tests/support/fault_check.h"

#define REPLACED                                                             \
  "lies in out, which is to be replaced; expected a file outside of it, or " \
  "another folder to write"

static void
write_session(const char* track, const char* setup)
{
  char text[256];
  (void)snprintf(text, sizeof(text),
                 "[track a]\nfile = %s\nsetup = %s\n[output]\ntail_s = 0\n",
                 track, setup);
  write_text("s.ini", text);
}

/// An older folder, and what is read from it
static int
enter_with_output(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4800);
  sound_free(&s);
  write_text("t.ini", "[delay]\n");
  write_session("a.wav", "t.ini");
  write_text("stdout", "");
  write_text("stderr", "");
  session_well(FIXTURE_DIR, "s.ini -o out");
  return 0;
}

/// Refused with `want`, the older folder untouched
static void
check_kept(const char* line, const char* want)
{
  const int n = count_files("out/stems");
  check_says(line, 1, want);
  assert_int_equal(count_files("out/stems"), n);
  assert_int_equal(access("out/mix.wav", F_OK), 0);
}

static void
tracks_stay(void** state)
{
  (void)state;
  static const char* const names[] = {"out/stems/track-a.wav", "link.wav",
                                      "hard.wav", "inner.wav/track-a.wav",
                                      "./out/../out/mix.wav"};
  assert_int_equal(symlink("out/mix.wav", "link.wav"), 0);
  assert_int_equal(symlink("out/stems", "inner.wav"), 0);
  assert_int_equal(link("out/stems/dry-a.wav", "hard.wav"), 0);
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char want[256];
    write_session(names[i], "t.ini");
    (void)snprintf(want, sizeof(want), "s.ini:2: file = %s: " REPLACED,
                   names[i]);
    check_kept("s.ini -o out", want);
  }
  assert_int_equal(unlink("link.wav"), 0);
  assert_int_equal(unlink("inner.wav"), 0);
  assert_int_equal(unlink("hard.wav"), 0);
}

/// One that only leads through the folder would be gone as well
static void
links_in_the_folder_stay(void** state)
{
  (void)state;
  assert_int_equal(rename("out/mix.wav", "mix.wav"), 0);
  assert_int_equal(symlink("../mix.wav", "out/mix.wav"), 0);
  write_session("out/mix.wav", "t.ini");
  check_says("s.ini -o out", 1, "s.ini:2: file = out/mix.wav: " REPLACED);
  assert_int_equal(unlink("out/mix.wav"), 0);
  assert_int_equal(rename("mix.wav", "out/mix.wav"), 0);
}

/// Every name in the folder that could be a setup is one of a listed file; a
/// hard link gives it one outside
static void
setups_stay(void** state)
{
  (void)state;
  assert_int_equal(rename("out/report.html", "report.html"), 0);
  write_text("t2.ini", "[delay]\n");
  assert_int_equal(link("t2.ini", "out/report.html"), 0);
  write_session("a.wav", "t2.ini");
  check_kept("s.ini -o out", "s.ini:3: setup = t2.ini: " REPLACED);
  write_session("a.wav", "out/report.html");
  check_kept("s.ini -o out", "s.ini:3: setup = out/report.html: " REPLACED);
  // Further down
  write_text("t3.ini", "from = t4.ini\n");
  write_text("t4.ini", "from = t2.ini\n");
  write_session("a.wav", "t3.ini");
  check_kept("s.ini -o out",
             "s.ini:3: setup = t3.ini: its base t2.ini " REPLACED);
  write_text("s.ini", "[track a]\nfile = a.wav\n[send plate]\nsetup = t4.ini\n"
                      "[bus]\nsetup = t.ini\n");
  check_kept("s.ini -o out",
             "s.ini:4: setup = t4.ini: its base t2.ini " REPLACED);
  write_text("s.ini", "[track a]\nfile = a.wav\n[bus]\nsetup = t2.ini\n");
  check_kept("s.ini -o out", "s.ini:4: setup = t2.ini: " REPLACED);
  assert_int_equal(unlink("out/report.html"), 0);
  assert_int_equal(rename("report.html", "out/report.html"), 0);
}

static void
the_session_stays(void** state)
{
  (void)state;
  assert_int_equal(rename("out/report.html", "report.html"), 0);
  write_session("../a.wav", "../t.ini");
  assert_int_equal(rename("s.ini", "out/report.html"), 0);
  check_kept("out/report.html -o out", "out/report.html: " REPLACED);
  assert_int_equal(unlink("out/report.html"), 0);
  assert_int_equal(rename("report.html", "out/report.html"), 0);
}

/// Nothing of the folder is read: it is replaced as ever, also from within
/// another one of a like name
static void
others_are_replaced(void** state)
{
  (void)state;
  assert_int_equal(mkdir("out2", 0777), 0);
  assert_int_equal(rename("a.wav", "out2/a.wav"), 0);
  write_session("out2/a.wav", "t.ini");
  session_well(FIXTURE_DIR, "s.ini -o out");
  assert_int_equal(rename("out2/a.wav", "a.wav"), 0);
  assert_int_equal(rmdir("out2"), 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(tracks_stay),
    cmocka_unit_test(links_in_the_folder_stay),
    cmocka_unit_test(setups_stay),
    cmocka_unit_test(the_session_stays),
    cmocka_unit_test(others_are_replaced),
  };
  return cmocka_run_group_tests_name("session-inputs", tests, enter_with_output,
                                     leave_tree);
}
