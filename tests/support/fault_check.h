// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Checks the message of a program about a fault, its exit status, and what it
/// leaves.  RENDER is the program.

#ifndef TESTS_SUPPORT_FAULT_CHECK_H
#define TESTS_SUPPORT_FAULT_CHECK_H

#include "session_check.h"

#include <signal.h>
#include <sys/resource.h>
#include <time.h>

/// Runs it on the fixture and checks its exit status and its output on stderr:
/// its name and `want`, or nothing if that is empty.  A fault leaves no file.
static inline void
check_says(const char* line, int want_exit, const char* want)
{
  char      text[2048];
  char      expected[2048] = "";
  const int n              = count_files(".");
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  if (*want) {
    (void)snprintf(expected, sizeof(expected), "%s: %s\n",
                   strrchr(RENDER, '/') + 1, want);
  }
  const int   status = render_status(text);
  const char* said   = read_text("stderr");
  if (!WIFEXITED(status) || WEXITSTATUS(status) != want_exit ||
      strcmp(said, expected) != 0) {
    fail_msg("%s:\nstatus %d, want %d\n%swant\n%s", line, status, want_exit,
             said, expected);
  }
  if (want_exit) {
    assert_int_equal(count_files("."), n);
  }
}

/// Stops it by a signal while it works: it prints nothing and leaves nothing.
/// `line` should take it a good while.
static inline void
check_signal(const char* line, int number)
{
  char      text[512];
  const int n = count_files(".");
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  (void)signal(number, SIG_DFL); // Ignored below nohup, and it would stay so
  const pid_t id = render_start(text);
  for (int k = 0; k < 1000 && count_files(".") == n; ++k) {
    (void)nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
  }
  assert_int_equal(count_files("."), n + 1); // The unfinished file
  assert_int_equal(kill(id, number), 0);
  int status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  if (!WIFSIGNALED(status) || WTERMSIG(status) != number ||
      count_files(".") != n) {
    fail_msg("signal %d: status %d, %d files for %d", number, status,
             count_files("."), n);
  }
  assert_string_equal(read_text("stderr"), "");
}

/// Stops it by each signal that would end it (SIGINT is Ctrl-C)
static inline void
check_signals(const char* line)
{
  static const int signals[]  = {SIGHUP,  SIGINT,  SIGQUIT,   SIGTERM, SIGALRM,
                                 SIGUSR1, SIGUSR2, SIGVTALRM, SIGPROF, SIGXCPU};
  const struct rlimit no_core = {.rlim_cur = 0, .rlim_max = 0};
  assert_int_equal(setrlimit(RLIMIT_CORE, &no_core), 0);
  for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); ++i) {
    check_signal(line, signals[i]);
  }
}

#endif // TESTS_SUPPORT_FAULT_CHECK_H
