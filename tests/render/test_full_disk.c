// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The disk fills up while writing: one line, exit status 1, and the older
/// output is still there, whole, with nothing beside it.

#include "tests/support/whole_files.h"

#include <sys/mount.h>
#include <sys/resource.h>

// ---------------------------------------------------------------------------
// A limit on the size of a file

static struct rlimit any_size;

static void
limit_sizes(rlim_t n)
{
  const struct rlimit limit = {.rlim_cur = n, .rlim_max = any_size.rlim_max};
  assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static int
keep_limit(void** state)
{
  (void)state;
  return getrlimit(RLIMIT_FSIZE, &any_size);
}

static int
restore_limit(void** state)
{
  (void)state;
  return setrlimit(RLIMIT_FSIZE, &any_size);
}

/// Renders one setup over the output of another, at every limit between nothing
/// and enough
static void
check_render_limits(const char* ending)
{
  static content old, new;
  char           name[64];
  char           line[256];
  (void)snprintf(name, sizeof(name), "out.%s", ending);
  (void)snprintf(line, sizeof(line),
                 "a.wav --setup two.ini -o %s --tail 0 --quiet", name);
  run_well(RENDER, line);
  read_content(name, &new);
  (void)snprintf(line, sizeof(line),
                 "a.wav --setup one.ini -o %s --tail 0 --quiet", name);
  run_well(RENDER, line);
  read_content(name, &old);
  assert_false(is_same(&old, &new));

  (void)snprintf(line, sizeof(line),
                 "a.wav --setup two.ini -o %s --tail 0 --quiet", name);
  const int    n    = count_files(".");
  const size_t step = new.size / 12;
  for (size_t limit = 300; limit < new.size; limit += step) {
    limit_sizes(limit);
    const int status = run_program(RENDER, line);
    limit_sizes(any_size.rlim_cur);
    if (status != 1 || !is_file(name, &old)) {
      fail_msg("%s with room for %zu of %zu bytes: status %d", name, limit,
               new.size, status);
    }
    check_one_line();
    assert_int_equal(count_files("."), n);
  }
  limit_sizes(new.size);
  run_well(RENDER, line);
  limit_sizes(any_size.rlim_cur);
  assert_true(is_file(name, &new));
  assert_int_equal(count_files("."), n);
  (void)unlink(name);
}

static void
full_disk_keeps_the_old_render(void** state)
{
  (void)state;
  check_render_limits("wav");
  check_render_limits("flac");
  check_render_limits("aiff");
}

/// All files of a session come from one rendering
static void
check_session_limit(size_t limit, const content* old)
{
  const int n = count_files(".");
  limit_sizes(limit);
  const int status = run_program(SESSION, "two.session.ini -o out --quiet");
  limit_sizes(any_size.rlim_cur);
  if (status != 1 || !is_file("out/mix.wav", old)) {
    fail_msg("with room for %zu bytes: status %d", limit, status);
  }
  check_one_line();
  assert_int_equal(count_files("."), n);
}

static void
full_disk_keeps_the_old_session(void** state)
{
  (void)state;
  static content old;
  struct stat    report;
  run_well(SESSION, "one.session.ini -o out --quiet");
  read_content("out/mix.wav", &old);
  assert_int_equal(stat("out/report.html", &report), 0);
  for (size_t limit = 300; limit < old.size; limit += old.size / 6) {
    check_session_limit(limit, &old);
  }
  // Enough for the audio, not for the report
  if ((size_t)report.st_size > old.size + 100) {
    check_session_limit(old.size + 100, &old);
  }
  remove_tree("out");
}

static void
full_disk_keeps_the_old_presets(void** state)
{
  (void)state;
  static content old, new;
  run_well(PRESETS, "-o lv2 two.ini");
  read_content(USER_PRESETS "/presets.ttl", &new);
  run_well(PRESETS, "-o lv2 one.ini");
  read_content(USER_PRESETS "/presets.ttl", &old);
  for (size_t limit = 150; limit < new.size; limit += new.size / 6) {
    limit_sizes(limit);
    const int status = run_program(PRESETS, "-o lv2 two.ini");
    limit_sizes(any_size.rlim_cur);
    if (status != 1 || !is_file(USER_PRESETS "/presets.ttl", &old)) {
      fail_msg("with room for %zu bytes: status %d", limit, status);
    }
    assert_int_equal(count_files("lv2"), 1);
  }
  remove_tree("lv2");
}

/// The bundle's own presets: a file of its own, and the end of another.  What
/// is said of it needs room, too.
static void
full_disk_keeps_the_old_factory_presets(void** state)
{
  (void)state;
  static content old, old_manifest, new_manifest;
  assert_int_equal(mkdir("own", 0777), 0);
  write_text("own/manifest.ttl", "# The plugins\n");
  run_well(PRESETS, "--factory own two.ini");
  read_content("own/presets.ttl", &old);
  read_content("own/manifest.ttl", &old_manifest);
  assert_int_equal(strncmp(old_manifest.data, "# The plugins\n", 14), 0);
  const size_t most =
    old.size > old_manifest.size ? old.size : old_manifest.size;
  for (size_t limit = 200; limit < most; limit += 1 + most / 16) {
    limit_sizes(limit);
    const int status = run_program(PRESETS, "--factory own one.ini");
    limit_sizes(any_size.rlim_cur);
    if (status != 1 || !is_file("own/presets.ttl", &old) ||
        !is_file("own/manifest.ttl", &old_manifest)) {
      fail_msg("with room for %zu bytes: status %d", limit, status);
    }
    check_one_line();
    assert_int_equal(count_files("own"), 2);
  }
  run_well(PRESETS, "--factory own one.ini");
  assert_false(is_file("own/presets.ttl", &old));
  read_content("own/manifest.ttl", &new_manifest);
  assert_true(new_manifest.size > old_manifest.size);
  assert_memory_equal(new_manifest.data, old_manifest.data, old_manifest.size);
  remove_tree("own");
}

/// A disk that is truly full, where this user may mount one
static void
a_full_file_system(void** state)
{
  (void)state;
  assert_int_equal(mkdir("small", 0777), 0);
  if (mount("tmpfs", "small", "tmpfs", 0, "size=64k")) {
    (void)rmdir("small");
    skip();
  }
  write_text("small/out.wav", "precious");
  sound s = write_noise("long.wav", RATE_HZ, 1, 48000);
  sound_free(&s);
  const int status =
    run_program(RENDER, "long.wav --setup one.ini -o small/out.wav");
  const bool is_old = !strcmp(read_text("small/out.wav"), "precious");
  const int  n      = count_files("small");
  const int  mixed  = run_program(SESSION, "one.session.ini -o small/out");
  const int  n_then = count_files("small");
  assert_int_equal(umount("small"), 0);
  (void)rmdir("small");
  assert_int_equal(status, 1);
  assert_true(is_old);
  assert_int_equal(n, 1);
  assert_int_equal(mixed, 1);
  assert_int_equal(n_then, 1);
  check_one_line();
  assert_non_null(strstr(read_text("stderr"), "(No space left on device)\n"));
}

/// A program may print to a full disk, too.  A line says so; the program has
/// failed only if it made nothing else.
static void
print_is_missed(const char* program,
                const char* line,
                int         status,
                const char* complete)
{
  char want[256];
  assert_int_equal(run_program(program, line), status);
  check_one_line();
  (void)snprintf(want, sizeof(want),
                 ": %sstandard output: cannot be written (No space left on "
                 "device)\n",
                 complete);
  assert_non_null(strstr(read_text("stderr"), want));
}

/// Runs a program whose output goes into a pipe that nobody reads
static int
status_on_closed_pipe(const char* program, const char* line)
{
  char text[1024];
  (void)unlink("stdout");
  assert_int_equal(mkfifo("stdout", 0600), 0);
  const int reader = open("stdout", O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  assert_true(reader >= 0);
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t id = program_start_to(program, text, "stderr");
  (void)close(reader); // posix_spawn() returns when its files are open
  int status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_int_equal(unlink("stdout"), 0);
  return status;
}

static void
a_closed_pipe_is_told(void** state)
{
  (void)state;
  assert_int_equal(
    status_on_closed_pipe(RENDER, "a.wav --setup one.ini -o out.wav"), 0);
  assert_string_equal(read_text("stderr"),
                      "dustcap-render: warning: out.wav: is complete; standard "
                      "output: cannot be written (Broken pipe)\n");
  assert_int_equal(status_on_closed_pipe(SESSION, "one.session.ini -o out"), 0);
  assert_string_equal(read_text("stderr"),
                      "dustcap-session: warning: out: is complete; standard "
                      "output: cannot be written (Broken pipe)\n");
  assert_int_equal(mkdir("lv2", 0777), 0);
  assert_int_equal(status_on_closed_pipe(PRESETS, "-o lv2 one.ini"), 0);
  check_one_line();
  assert_int_equal(unlink("out.wav"), 0); // It is there
  assert_int_equal(access("out/mix.wav", F_OK), 0);
  assert_int_equal(access(USER_PRESETS "/presets.ttl", F_OK), 0);
  remove_tree("out");
  remove_tree("lv2");
  write_text("stdout", "");
}

static void
a_lost_table_is_told(void** state)
{
  (void)state;
  assert_int_equal(unlink("stdout"), 0);
  assert_int_equal(symlink("/dev/full", "stdout"), 0);
  print_is_missed(RENDER, "--help", 1, "");
  print_is_missed(SESSION, "--version", 1, "");
  print_is_missed(RENDER, "a.wav --setup one.ini -o out.wav", 0,
                  "warning: out.wav: is complete; ");
  print_is_missed(SESSION, "one.session.ini -o out", 0,
                  "warning: out: is complete; ");
  print_is_missed(PRESETS, "-o lv2 one.ini", 0,
                  "warning: the presets are complete; ");
  assert_int_equal(unlink("stdout"), 0);
  assert_int_equal(unlink("out.wav"), 0);
  remove_tree("out");
  remove_tree("lv2");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(full_disk_keeps_the_old_render, keep_limit,
                                    restore_limit),
    cmocka_unit_test_setup_teardown(full_disk_keeps_the_old_session, keep_limit,
                                    restore_limit),
    cmocka_unit_test_setup_teardown(full_disk_keeps_the_old_presets, keep_limit,
                                    restore_limit),
    cmocka_unit_test_setup_teardown(full_disk_keeps_the_old_factory_presets,
                                    keep_limit, restore_limit),
    cmocka_unit_test(a_full_file_system),
    cmocka_unit_test(a_lost_table_is_told),
    cmocka_unit_test(a_closed_pipe_is_told),
  };
  return cmocka_run_group_tests_name("full-disk", tests, enter_with_files,
                                     leave_tree);
}
