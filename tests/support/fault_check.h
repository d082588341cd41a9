// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Checks the message of a program about a fault, its exit status, and what it
/// leaves.  RENDER is the program.

#ifndef TESTS_SUPPORT_FAULT_CHECK_H
#define TESTS_SUPPORT_FAULT_CHECK_H

#include "session_check.h"

#include <signal.h>
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

/// Stops it by signals while it works (SIGINT is Ctrl-C): it prints nothing and
/// leaves nothing.  `line` should take it a good while.
static inline void
check_signals(const char* line)
{
  static const int signals[] = {SIGINT, SIGTERM};
  for (int i = 0; i < 2; ++i) {
    char      text[512];
    const int n = count_files(".");
    (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
    const pid_t id = render_start(text);
    for (int k = 0; k < 1000 && count_files(".") == n; ++k) {
      (void)nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    }
    assert_int_equal(count_files("."), n + 1); // The unfinished file
    assert_int_equal(kill(id, signals[i]), 0);
    int status = 0;
    assert_int_equal(waitpid(id, &status, 0), id);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), signals[i]);
    assert_string_equal(read_text("stderr"), "");
    assert_int_equal(count_files("."), n);
  }
}

#endif // TESTS_SUPPORT_FAULT_CHECK_H
