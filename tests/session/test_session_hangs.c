// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Whatever is around a session, it comes to an end

#include "tests/support/fault_check.h"

#include <sys/socket.h>
#include <sys/un.h>

/// Returns the status of a program that ends in time; else kills it and fails
static int
status_within(pid_t id, int limit_s)
{
  int status = 0;
  for (int i = 0; i < 100 * limit_s; ++i) {
    if (waitpid(id, &status, WNOHANG) == id) {
      return status;
    }
    (void)nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
  }
  (void)kill(id, SIGKILL);
  (void)waitpid(id, &status, 0);
  fail_msg("still running after %d s", limit_s);
  return -1;
}

static pid_t
start_session(const char* line)
{
  char text[1024];
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  return render_start(text);
}

static int
enter_with_session(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4800);
  sound_free(&s);
  write_text("s.ini", "[track a]\nfile = a.wav\n[output]\ntail_s = 0\n");
  write_text("stdout", "");
  write_text("stderr", "");
  return 0;
}

/// Starts a session that takes a while, and waits until it is at work
static pid_t
start_long(void)
{
  sound s = write_noise("long.wav", RATE_HZ, 1, 120 * RATE_HZ);
  sound_free(&s);
  write_text("t.ini", "[delay]\n");
  write_text("long.ini", "[track a]\nfile = long.wav\nsetup = t.ini\n"
                         "gain_db = -20\n[output]\ntail_s = 0\n");
  const int   n  = count_files(".");
  const pid_t id = start_session("long.ini -o out --quiet");
  for (int i = 0; i < 6000 && count_files(".") == n; ++i) {
    (void)nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
  }
  return id;
}

/// A session that is to stop leaves nothing
static void
signals_stop_it(void** state)
{
  (void)state;
  const pid_t id = start_long();
  assert_int_equal(kill(id, SIGTERM), 0);
  const int status = status_within(id, 20);
  assert_true(WIFSIGNALED(status));
  assert_int_equal(WTERMSIG(status), SIGTERM);
  assert_int_equal(access("out", F_OK), -1);
}

/// nohup starts a program with SIGHUP ignored, a shell's job in the background
/// may have SIGINT ignored (POSIX.1-2017, nohup and 2.11 Signals): it stays so
static void
ignored_signals_stay_ignored(void** state)
{
  (void)state;
  (void)signal(SIGHUP, SIG_IGN);
  (void)signal(SIGINT, SIG_IGN);
  const pid_t id = start_long();
  (void)signal(SIGHUP, SIG_DFL);
  (void)signal(SIGINT, SIG_DFL);
  assert_int_equal(kill(id, SIGHUP), 0);
  assert_int_equal(kill(id, SIGINT), 0);
  assert_int_equal(status_within(id, 120), 0);
  assert_int_equal(access("out/mix.wav", F_OK), 0);
  remove_tree("out");
}

static void
check_refused(const char* line, const char* want)
{
  char      text[1024];
  const int status = status_within(start_session(line), 30);
  (void)snprintf(text, sizeof(text), "dustcap-session: %s\n", want);
  assert_true(WIFEXITED(status));
  assert_int_equal(WEXITSTATUS(status), 1);
  assert_string_equal(read_text("stderr"), text);
}

/// What has no end, or nobody at its other end, is no text
static void
special_files_are_refused(void** state)
{
  (void)state;
  assert_int_equal(mkfifo("pipe", 0600), 0);
  struct sockaddr_un where = {.sun_family = AF_UNIX, .sun_path = "socket"};
  const int          s     = socket(AF_UNIX, SOCK_STREAM, 0);
  assert_int_equal(bind(s, (const struct sockaddr*)&where, sizeof(where)), 0);
  static const char* const names[] = {"/dev/zero", "pipe", "socket"};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char line[256];
    char want[256];
    (void)snprintf(line, sizeof(line), "%s -o out", names[i]);
    (void)snprintf(want, sizeof(want),
                   "%s: is not an ordinary file; expected a session", names[i]);
    check_refused(line, want);
    (void)snprintf(line, sizeof(line), "[track a]\nfile = a.wav\nsetup = %s\n",
                   names[i]);
    write_text("odd.ini", line);
    (void)snprintf(want, sizeof(want),
                   "odd.ini:3: setup = %s: is not an ordinary file; expected a "
                   "setup",
                   names[i]);
    check_refused("odd.ini -o out", want);
    (void)snprintf(line, sizeof(line), "[track a]\nfile = %s\n", names[i]);
    write_text("odd.ini", line);
    (void)snprintf(want, sizeof(want),
                   "odd.ini:2: file = %s: is not an ordinary file; expected a "
                   "sound file",
                   names[i]);
    check_refused("odd.ini -o out", want);
    (void)snprintf(line, sizeof(line), "from = %s\n[delay]\n", names[i]);
    write_text("from.ini", line);
    write_text("odd.ini", "[track a]\nfile = a.wav\nsetup = from.ini\n");
    (void)snprintf(want, sizeof(want),
                   "%s: is not an ordinary file; expected a setup", names[i]);
    check_refused("odd.ini -o out", want);
  }
  (void)close(s);
}

/// 1 MiB is a limit that no session reaches
static void
large_files_are_refused(void** state)
{
  (void)state;
  FILE* const f = fopen("large.ini", "w");
  assert_non_null(f);
  for (int i = 0; i < 1048576; i += 64) {
    (void)fprintf(f, ";%62s\n", "");
  }
  assert_int_equal(fclose(f), 0);
  check_refused("large.ini -o out",
                "large.ini:16384: no track in this file; expected a section "
                "such as [track NAME]");
  assert_int_equal(truncate("large.ini", 1048577), 0);
  check_refused("large.ini -o out",
                "large.ini: 1048577 bytes; expected a session of at most "
                "1048576");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(signals_stop_it),
    cmocka_unit_test(ignored_signals_stay_ignored),
    cmocka_unit_test(special_files_are_refused),
    cmocka_unit_test(large_files_are_refused),
  };
  return cmocka_run_group_tests_name("session-hangs", tests, enter_with_session,
                                     leave_tree);
}
