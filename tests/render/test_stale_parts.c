// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a run leaves that was killed without a chance to clean up: the next run
/// to the same place clears it, and nothing else.

#include "tests/support/whole_files.h"

#include "presets-demo/render/program/whole_folder.h"

#include <signal.h>
#include <time.h>

#define SLOW_RENDER   "long.wav --setup slow.ini -o out.wav --tail 0 --quiet"
#define QUICK_RENDER  "a.wav --setup one.ini -o out.wav --tail 0 --quiet"
#define QUICK_SESSION "one.session.ini -o out --quiet"

static int
enter(void** state)
{
  const int status = enter_with_files(state);
  sound     s      = write_noise("long.wav", RATE_HZ, 1, 480000); // Some 19 s
  sound_free(&s);
  write_text("slow.ini", "[dawdler]\n");
  write_text("slow.session.ini", "[track a]\nfile = long.wav\nsetup = "
                                 "slow.ini\n[output]\ntail_s = 0\n");
  return status;
}

/// Nothing was written into it for a while
static void
make_old(const char* path)
{
  const struct timespec times[2] = {{.tv_sec = time(NULL) - 90},
                                    {.tv_sec = time(NULL) - 90}};
  assert_int_equal(utimensat(AT_FDCWD, path, times, AT_SYMLINK_NOFOLLOW), 0);
}

/// The one part there is; empty if there is none
static const char*
the_part(void)
{
  static char name[300];
  *name        = '\0';
  DIR* const d = opendir(".");
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (!strncmp(e->d_name, ".out", 4)) {
      assert_string_equal(name, "");
      (void)snprintf(name, sizeof(name), "%s", e->d_name);
    }
  }
  (void)closedir(d);
  return name;
}

/// Start it and wait for its part
static pid_t
start_slow(const char* program, const char* line)
{
  char text[512];
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t id = program_start_to(program, text, "stderr");
  for (int k = 0; k < 1000 && !*the_part(); ++k) {
    (void)nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
  }
  assert_string_not_equal(the_part(), "");
  (void)nanosleep(&(struct timespec){.tv_nsec = 200000000}, NULL);
  return id;
}

static void
end_with(pid_t id, int number)
{
  int status = 0;
  assert_int_equal(kill(id, number), 0);
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_true(WIFSIGNALED(status));
}

/// Left by a run that is killed, and cleared by the next when it is old
static void
check_cleared(const char* program, const char* slow, const char* quick)
{
  end_with(start_slow(program, slow), SIGKILL);
  run_well(program, quick); // Too early to tell
  assert_string_not_equal(the_part(), "");
  make_old(the_part());
  run_well(program, quick);
  assert_string_equal(the_part(), "");
}

static void
parts_of_the_dead_go(void** state)
{
  (void)state;
  check_cleared(RENDER, SLOW_RENDER, QUICK_RENDER);
  check_cleared(SESSION, "slow.session.ini -o out --quiet", QUICK_SESSION);
  assert_int_equal(unlink("out.wav"), 0);
  remove_tree("out");
}

/// The next run is no reason for the one that is at work to lose its part
static void
check_living(const char* program, const char* slow, const char* quick)
{
  const pid_t id = start_slow(program, slow);
  assert_int_equal(kill(id, SIGSTOP), 0);
  make_old(the_part());
  run_well(program, quick);
  assert_string_not_equal(the_part(), "");
  assert_int_equal(kill(id, SIGCONT), 0);
  end_with(id, SIGTERM);
  assert_string_equal(the_part(), "");
}

static void
parts_of_the_living_stay(void** state)
{
  (void)state;
  check_living(RENDER, SLOW_RENDER, QUICK_RENDER);
  check_living(SESSION, "slow.session.ini -o out --quiet", QUICK_SESSION);
  assert_int_equal(unlink("out.wav"), 0);
  remove_tree("out");
}

/// Names that are like it, and things of other kinds that bear one
static void
files_of_others_stay(void** state)
{
  (void)state;
  static const char* const names[] = {
    ".out.wav.backup",          ".out.wav.dustcap-12345",
    ".out.wav.dustcap-1234567", ".out.wav.dustcap-123456.txt",
    ".out2.wav.dustcap-123456", "out.wav.dustcap-123456",
    ".out.wav.dustcap-12.456",  ".out.wav.dustcap-",
  };
  enum { N_NAMES = sizeof(names) / sizeof(names[0]) };
  for (size_t i = 0; i < N_NAMES; ++i) {
    write_text(names[i], "precious");
    make_old(names[i]);
  }
  write_text("victim", "precious");
  assert_int_equal(symlink("victim", ".out.wav.dustcap-aaaaaa"), 0);
  make_old(".out.wav.dustcap-aaaaaa");
  make_old("victim");
  assert_int_equal(mkfifo(".out.wav.dustcap-bbbbbb", 0666), 0);
  make_old(".out.wav.dustcap-bbbbbb");
  assert_int_equal(mkdir(".out.wav.dustcap-cccccc", 0777), 0);
  write_text(".out.wav.dustcap-cccccc/mine.txt", "precious");
  make_old(".out.wav.dustcap-cccccc");
  const int n = count_files(".");
  run_well(RENDER, QUICK_RENDER);
  assert_int_equal(count_files("."), n + 1);
  for (size_t i = 0; i < N_NAMES; ++i) {
    assert_string_equal(read_text(names[i]), "precious");
    assert_int_equal(unlink(names[i]), 0);
  }
  assert_string_equal(read_text(".out.wav.dustcap-cccccc/mine.txt"),
                      "precious");
  assert_string_equal(read_text("victim"), "precious");
  assert_int_equal(unlink("victim"), 0);
  assert_int_equal(unlink(".out.wav.dustcap-aaaaaa"), 0);
  assert_int_equal(unlink(".out.wav.dustcap-bbbbbb"), 0);
  remove_tree(".out.wav.dustcap-cccccc");
  assert_int_equal(unlink("out.wav"), 0);
}

/// Of an older folder that was being removed goes what its list names
static void
late_files_of_others_stay(void** state)
{
  (void)state;
  run_well(SESSION, QUICK_SESSION);
  write_text("out/mine.txt", "precious");
  assert_int_equal(rename("out", ".out.dustcap-aaaaaa"), 0);
  for (int i = 0; i < 2; ++i) {
    make_old(".out.dustcap-aaaaaa");
    run_well(SESSION, QUICK_SESSION);
    assert_int_equal(count_files(".out.dustcap-aaaaaa"), 1);
    assert_string_equal(read_text(".out.dustcap-aaaaaa/mine.txt"), "precious");
  }
  remove_tree(".out.dustcap-aaaaaa");
  remove_tree("out");
}

/// Killed between two steps, where places cannot be changed at once: the older
/// one gets its name back
static void
older_ones_come_back(void** state)
{
  (void)state;
  failure f = {""};
  run_well(SESSION, QUICK_SESSION);
  assert_int_equal(rename("out", ".out.dustcap-aaaaaa.old"), 0);
  make_old(".out.dustcap-aaaaaa.old");
  whole_folder_abandon(whole_folder_open("out", &f));
  assert_int_equal(access("out/mix.wav", F_OK), 0);
  assert_string_equal(the_part(), "");

  write_text(".out.wav.dustcap-aaaaaa.old", "precious");
  make_old(".out.wav.dustcap-aaaaaa.old");
  assert_int_equal(run_program(RENDER, "a.wav --setup none.ini -o out.wav"), 1);
  assert_int_not_equal(access("out.wav", F_OK), 0); // Fails before
  run_well(SESSION, QUICK_SESSION);
  assert_int_not_equal(access("out.wav", F_OK), 0); // Another place
  write_text("bad.ini", "[breaker]\n");
  assert_int_equal(run_program(RENDER, "a.wav --setup bad.ini -o out.wav"), 1);
  assert_string_equal(read_text("out.wav"), "precious");
  assert_string_equal(the_part(), "");
  assert_int_equal(unlink("out.wav"), 0);
  remove_tree("out");
}

/// The longest name there may be has room for its part
static void
long_names_have_parts(void** state)
{
  (void)state;
  static char name[256];
  char        line[600];
  for (size_t i = 0; i < 250; i += 2) {
    memcpy(name + i, "\xC3\xA4", 3); // a with two dots
  }
  memcpy(name + 250, ".wav", 5);
  const int n = count_files(".");
  (void)snprintf(line, sizeof(line), "a.wav --setup one.ini -o %s --quiet",
                 name);
  run_well(RENDER, line);
  assert_int_equal(count_files("."), n + 1);
  assert_int_equal(unlink(name), 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(parts_of_the_dead_go),
    cmocka_unit_test(parts_of_the_living_stay),
    cmocka_unit_test(files_of_others_stay),
    cmocka_unit_test(late_files_of_others_stay),
    cmocka_unit_test(older_ones_come_back),
    cmocka_unit_test(long_names_have_parts),
  };
  return cmocka_run_group_tests_name("stale-parts", tests, enter, leave_tree);
}
