// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Killed at any moment, without a chance to clean up: either the old output is
/// there, whole, or the new one.

#include "tests/support/whole_files.h"

#include <signal.h>
#include <time.h>

#define N_KILLS 40

/// Removes parts that were left: hidden files and folders
static void
remove_parts(void)
{
  DIR* const d = opendir(".");
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (e->d_name[0] == '.' && strlen(e->d_name) > 2) {
      remove_tree(e->d_name);
    }
  }
  (void)closedir(d);
}

static double
now_s(void)
{
  struct timespec t;
  (void)clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// Starts it and kills it after `share` of the time it takes
static void
kill_program(const char* program, const char* line, double time_s, double share)
{
  char text[1024];
  int  status = 0;
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t           id   = program_start_to(program, text, "stderr");
  const double          wait = time_s * share;
  const struct timespec t    = {.tv_sec  = (time_t)wait,
                                .tv_nsec = (long)(1e9 * (wait - floor(wait)))};
  (void)nanosleep(&t, NULL);
  (void)kill(id, SIGKILL);
  assert_int_equal(waitpid(id, &status, 0), id);
}

/// Kills `two` over the output of `one` and the other way round, at moments
/// spread over their run: `file` must come from one of them
static void
check_kills(const char* program,
            const char* one,
            const char* two,
            const char* file,
            const char* second_file)
{
  static content first, second, also_first, also_second;
  run_well(program, two);
  read_content(file, &second);
  read_content(second_file, &also_second);
  const double start = now_s();
  run_well(program, one);
  const double time_s = now_s() - start;
  read_content(file, &first);
  read_content(second_file, &also_first);
  assert_false(is_same(&first, &second));

  int n_first = 0;
  for (int i = 0; i < N_KILLS; ++i) {
    kill_program(program, i % 2 ? one : two, time_s, 2.0 * i / N_KILLS);
    const bool is_first = is_file(file, &first);
    n_first += is_first;
    if (!is_first && !is_file(file, &second)) {
      fail_msg("%s: kill %d leaves part of %s", program, i, file);
    }
    if (!is_file(second_file, is_first ? &also_first : &also_second)) {
      fail_msg("%s: kill %d leaves %s and %s of two runs", program, i, file,
               second_file);
    }
    remove_parts();
  }
  print_message("# %s: %d kills, %d times the first\n", program, N_KILLS,
                n_first);
  // And the next run works as if nothing had happened
  run_well(program, one);
  assert_true(is_file(file, &first));
}

static void
a_killed_render_is_old_or_new(void** state)
{
  (void)state;
  check_kills(RENDER, "a.wav --setup one.ini -o out.wav --tail 0 --quiet",
              "a.wav --setup two.ini -o out.wav --tail 0 --quiet", "out.wav",
              "out.wav");
  (void)unlink("out.wav");
}

static void
a_killed_session_is_old_or_new(void** state)
{
  (void)state;
  check_kills(SESSION, "one.session.ini -o out --quiet",
              "two.session.ini -o out --quiet", "out/mix.wav",
              "out/stems/track-a.wav");
  remove_tree("out");
}

static void
killed_presets_are_old_or_new(void** state)
{
  (void)state;
  check_kills(PRESETS, "-o lv2 one.ini", "-o lv2 two.ini",
              USER_PRESETS "/presets.ttl", USER_PRESETS "/manifest.ttl");
  remove_tree("lv2");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_killed_render_is_old_or_new),
    cmocka_unit_test(a_killed_session_is_old_or_new),
    cmocka_unit_test(killed_presets_are_old_or_new),
  };
  return cmocka_run_group_tests_name("killed", tests, enter_with_files,
                                     leave_tree);
}
