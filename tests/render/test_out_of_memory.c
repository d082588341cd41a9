// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Out of memory at any call, of a program or of a library below it: one line,
/// exit status 1, and what was there before is still there, whole, with nothing
/// beside it; or all of it is new.
///
/// Every STEPth call fails in turn; OUT_OF_MEMORY_STEP=1 has them all, for some
/// ten minutes.

#include "tests/support/whole_files.h"

#include "presets-demo/render/program/alloc_guard.h"

#include <stdlib.h>

// Calls between two that fail: a prime, so that loops are met at other places
#define STEP 31

static long
step(void)
{
  const char* const text = getenv("OUT_OF_MEMORY_STEP");
  const long        n    = text ? strtol(text, NULL, 10) : 0;
  return n > 0 ? n : STEP;
}

/// Run it while call `n` fails; the exit status.  `has_failed` if it came.
static int
run_failing(const char* program, const char* line, long n, bool* has_failed)
{
  char number[32];
  (void)snprintf(number, sizeof(number), "%ld", n);
  assert_int_equal(setenv("FAIL_AT", number, 1), 0);
  assert_int_equal(setenv("FAIL_NOTE", "failed", 1), 0);
  assert_int_equal(setenv("LD_PRELOAD", FAILING_ALLOC, 1), 0);
  char text[1024];
  int  status = 0;
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t id = program_start_to(program, text, "stderr");
  assert_int_equal(unsetenv("LD_PRELOAD"), 0);
  assert_int_equal(waitpid(id, &status, 0), id);
  *has_failed = !unlink("failed");
  if (!WIFEXITED(status)) {
    fail_msg("%s: ends with %d when call %ld fails: %s", line, status, n,
             read_text("stderr"));
  }
  return WEXITSTATUS(status);
}

/// The run that makes files new while each call fails; `old` makes them old
static void
check_memory(const char* program,
             const char* old,
             const char* new,
             const char* file,
             const char* second_file)
{
  static content first, second, also_first, also_second;
  run_well(program, new);
  read_content(file, &second);
  read_content(second_file, &also_second);
  run_well(program, old);
  read_content(file, &first);
  read_content(second_file, &also_first);
  assert_false(is_same(&first, &second));

  const int n_files    = count_files(".");
  int       n_runs     = 0;
  int       n_new      = 0;
  bool      has_failed = true;
  for (long n = 1; has_failed; n += step(), ++n_runs) {
    const int  status = run_failing(program, new, n, &has_failed);
    const bool is_new = status == 0;
    if (status > 1 || !is_file(file, is_new ? &second : &first) ||
        !is_file(second_file, is_new ? &also_second : &also_first) ||
        count_files(".") != n_files) {
      fail_msg("%s: status %d when call %ld fails, %d files for %d: %s", new,
               status, n, count_files("."), n_files, read_text("stderr"));
    }
    if (has_failed) {
      check_one_line();
      assert_non_null(strstr(read_text("stderr"), "out of memory"));
    }
    if (is_new) {
      ++n_new;
      run_well(program, old);
    }
  }
  print_message("# %s: %d runs, %d of them complete\n", program, n_runs, n_new);
  assert_true(n_runs > 20 && n_new > 0); // It did look
}

static void
render_is_old_or_new(void** state)
{
  (void)state;
  if (!HAVE_ALLOC_GUARD) {
    skip();
  }
  check_memory(RENDER,
               "a.wav --setup one.ini -o out.wav --compare --rate 44100 "
               "--tail 0 --quiet",
               "a.wav --setup two.ini -o out.wav --compare --rate 44100 "
               "--tail 0 --quiet",
               "out.wav", "out-dry.wav");
}

static void
session_is_old_or_new(void** state)
{
  (void)state;
  if (!HAVE_ALLOC_GUARD) {
    skip();
  }
  check_memory(SESSION, "one.session.ini -o out --threads 2 --quiet",
               "two.session.ini -o out --threads 2 --quiet", "out/mix.wav",
               "out/stems/track-a.wav");
}

static void
presets_are_old_or_new(void** state)
{
  (void)state;
  if (!HAVE_ALLOC_GUARD) {
    skip();
  }
  check_memory(PRESETS, "-o lv2 one.ini", "-o lv2 two.ini",
               USER_PRESETS "/presets.ttl", USER_PRESETS "/manifest.ttl");
}

/// A take long enough to have a loudness
static int
enter(void** state)
{
  const int status = enter_with_files(state);
  sound     s      = write_noise("a.wav", RATE_HZ, 1, 20000);
  sound_free(&s);
  return status;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(render_is_old_or_new),
    cmocka_unit_test(session_is_old_or_new),
    cmocka_unit_test(presets_are_old_or_new),
  };
  return cmocka_run_group_tests_name("out-of-memory", tests, enter, leave_tree);
}
