// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-session --watch, as somebody has it who edits setups beside it

#include "tests/support/fault_check.h"

#include <time.h>

enum { MOST_MS = 60000, STEP_MS = 20, QUIET_MS = 2500 };

static pid_t watcher;

static void
wait_ms(int ms)
{
  (void)nanosleep(
    &(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000L},
    NULL);
}

static int
count_lines(const char* name)
{
  int n = 0;
  for (const char* c = read_text(name); *c; ++c) {
    n += *c == '\n';
  }
  return n;
}

/// Waits until a file has so many lines
static void
wait_for_lines(const char* name, int n)
{
  for (int ms = 0; ms < MOST_MS && count_lines(name) < n; ms += STEP_MS) {
    wait_ms(STEP_MS);
  }
  assert_int_equal(count_lines(name), n);
}

/// Returns the last line of a file, without its end
static const char*
last_line(const char* name)
{
  static char line[1024];
  const char* from = read_text(name);
  for (const char* c = from; *c; ++c) {
    from = *c == '\n' && c[1] ? c + 1 : from;
  }
  (void)snprintf(line, sizeof(line), "%.*s", (int)strcspn(from, "\n"), from);
  return line;
}

static void
assert_begins(const char* line, const char* with)
{
  if (strncmp(line, with, strlen(with)) != 0) {
    fail_msg("\"%s\" does not begin with \"%s\"", line, with);
  }
}

/// Writes as editors do that keep the old file until the new one is whole
static void
replace_text(const char* name, const char* text)
{
  write_text("new.tmp", text);
  assert_int_equal(rename("new.tmp", name), 0);
}

static int
enter_with_watcher(void** state)
{
  char line[1024];
  memset(render_folder + sizeof(render_folder) - 7, 'X', 6); // Another one
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4800);
  sound_free(&s);
  write_text("base.ini", "[delay]\n");
  write_text("a.ini", "from = base.ini\n");
  write_text("s.ini", "[track a]\nfile = a.wav\nsetup = a.ini\ngain_db = -20\n"
                      "[output]\ntail_s = 0\n");
  (void)snprintf(line, sizeof(line), "--bundle %s s.ini -o out --watch",
                 FIXTURE_DIR);
  watcher = render_start(line);
  wait_for_lines("stdout", 1);
  return 0;
}

static int
leave_watcher(void** state)
{
  (void)kill(watcher, SIGKILL);
  (void)waitpid(watcher, NULL, 0);
  return leave_folder(state);
}

/// Ends it as Ctrl+C does: a shell says 130 then, 128 and the signal's number
/// (POSIX.1-2017, Shell 2.8.2)
static void
check_end(void)
{
  int status = 0;
  assert_int_equal(kill(watcher, SIGINT), 0);
  assert_int_equal(waitpid(watcher, &status, 0), watcher);
  assert_true(WIFSIGNALED(status));
  assert_int_equal(WTERMSIG(status), SIGINT);
}

static ino_t
report_inode(void)
{
  struct stat s;
  assert_int_equal(stat("out/report.html", &s), 0);
  return s.st_ino;
}

static void
every_file_counts(void** state)
{
  (void)state;
  assert_begins(read_text("stdout"), "out: 0.100 s at 48000 Hz; took ");
  ino_t before = report_inode();
  write_text("base.ini", "; another\n[delay]\n");
  wait_for_lines("stdout", 2);
  assert_begins(last_line("stdout"), "base.ini has changed; out: 0.100 s");
  assert_true(report_inode() != before);

  replace_text("a.ini", "from = base.ini\n; another\n");
  wait_for_lines("stdout", 3);
  assert_begins(last_line("stdout"), "a.ini has changed; out: ");

  sound s = write_noise("a.wav", RATE_HZ, 1, 9600);
  sound_free(&s);
  wait_for_lines("stdout", 4);
  assert_begins(last_line("stdout"), "a.wav has changed; out: 0.200 s");

  write_text("s.ini", "[track a]\nfile = a.wav\n[output]\ntail_s = 1\n");
  wait_for_lines("stdout", 5);
  assert_begins(last_line("stdout"), "s.ini has changed; out: 1.200 s");

  // The setups are not read any more, and others never were
  before = report_inode();
  write_text("base.ini", "[delay]\n");
  write_text("other.ini", "[delay]\n");
  wait_ms(QUIET_MS);
  assert_int_equal(count_lines("stdout"), 5);
  assert_true(report_inode() == before);
  assert_string_equal(read_text("stderr"), "");
  check_end();
  remove_tree("out");
}

static void
several_changes_are_one(void** state)
{
  (void)state;
  for (int i = 0; i < 8; ++i) {
    write_text("base.ini", i % 2 ? "[delay]\n" : "; odd\n[delay]\n");
    replace_text("a.ini", i % 2 ? "from = base.ini\n" : "; odd\n");
    wait_ms(100);
  }
  wait_for_lines("stdout", 2);
  wait_ms(QUIET_MS);
  assert_int_equal(count_lines("stdout"), 2);
  check_end();
  remove_tree("out");
}

static void
an_error_is_one_line_and_the_report_stays(void** state)
{
  (void)state;
  const ino_t before = report_inode();
  write_text("base.ini", "[delay\n");
  wait_for_lines("stderr", 1);
  assert_begins(read_text("stderr"), "dustcap-session: ");
  assert_non_null(strstr(read_text("stderr"), "base.ini:1: "));
  assert_true(report_inode() == before);
  write_text("base.ini", "[delay]\n");
  wait_for_lines("stdout", 2);
  assert_true(report_inode() != before);

  // A base that it has never read well
  write_text("new.ini", "[nothing]\n");
  write_text("a.ini", "from = new.ini\n");
  wait_for_lines("stderr", 2);
  write_text("new.ini", "[delay]\n");
  wait_for_lines("stdout", 3);

  // No session for a while
  assert_int_equal(rename("s.ini", "kept.ini"), 0);
  wait_for_lines("stderr", 3);
  assert_int_equal(rename("kept.ini", "s.ini"), 0);
  wait_for_lines("stdout", 4);
  check_end();
  remove_tree("out");
}

/// Ctrl+C in the middle of a rendering leaves the last report and nothing else
static void
nothing_half_written_is_left(void** state)
{
  (void)state;
  const ino_t before = report_inode();
  sound       s      = write_noise("a.wav", RATE_HZ, 1, 120 * RATE_HZ);
  sound_free(&s);
  const int n = count_files(".");
  for (int ms = 0; ms < MOST_MS && count_files(".") == n; ms += 1) {
    wait_ms(1);
  }
  assert_true(count_files(".") > n); // It has begun another folder
  check_end();
  assert_int_equal(count_files("."), n);
  assert_true(report_inode() == before);
  remove_tree("out");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(every_file_counts, enter_with_watcher,
                                    leave_watcher),
    cmocka_unit_test_setup_teardown(several_changes_are_one, enter_with_watcher,
                                    leave_watcher),
    cmocka_unit_test_setup_teardown(an_error_is_one_line_and_the_report_stays,
                                    enter_with_watcher, leave_watcher),
    cmocka_unit_test_setup_teardown(nothing_half_written_is_left,
                                    enter_with_watcher, leave_watcher),
  };
  return cmocka_run_group_tests_name("session-watch", tests, NULL, NULL);
}
