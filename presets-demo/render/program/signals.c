// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "signals.h"

#include <stdbool.h>
#include <stddef.h>

volatile sig_atomic_t signals_caught = 0;

/// All that would end the program and may be caught (POSIX 1003.1, signal.h),
/// but for faults and for what write() tells as well
static const int signals[] = {
  SIGHUP,  SIGINT,  SIGQUIT,   SIGTERM, SIGALRM,
  SIGUSR1, SIGUSR2, SIGVTALRM, SIGPROF, SIGXCPU,
#ifdef SIGPOLL
  SIGPOLL,
#endif
#ifdef SIGPWR // Linux: the power fails
  SIGPWR,
#endif
};

enum { N_SIGNALS = sizeof(signals) / sizeof(signals[0]) };

static void
note_signal(int number)
{
  signals_caught = number;
}

static void
set_action(int number, void (*handler)(int))
{
  struct sigaction action = {.sa_handler = handler};
  (void)sigemptyset(&action.sa_mask);
  (void)sigaction(number, &action, NULL);
}

/// Whether who started this program wants it to outlive a signal, as nohup does
static bool
is_ignored(int number)
{
  struct sigaction action;
  return !sigaction(number, NULL, &action) && action.sa_handler == SIG_IGN;
}

/// write() reports the same as an error
static void
ignore_write_signals(void)
{
  set_action(SIGXFSZ, SIG_IGN);
  set_action(SIGPIPE, SIG_IGN);
}

void
signals_catch(void)
{
  for (int i = 0; i < N_SIGNALS; ++i) {
    if (!is_ignored(signals[i])) {
      set_action(signals[i], note_signal);
    }
  }
  ignore_write_signals();
}

void
signals_die(void)
{
  if (signals_caught) {
    (void)signal(signals_caught, SIG_DFL);
    (void)raise(signals_caught);
  }
}

void
signals_hold(void)
{
  sigset_t held;
  (void)sigemptyset(&held);
  for (int i = 0; i < N_SIGNALS; ++i) {
    (void)sigaddset(&held, signals[i]);
  }
  (void)sigprocmask(SIG_BLOCK, &held, NULL);
  ignore_write_signals();
}
