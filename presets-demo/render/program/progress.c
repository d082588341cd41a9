// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "progress.h"

#include "printable.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#define SHOW_AFTER_S  1.0
#define RENEW_EVERY_S 0.1
#define BAR_WIDTH     30U
#define MIN_BAR_WIDTH 5U
#define LABEL_COLUMNS 24U
#define USUAL_COLUMNS 80U
#define MAX_COLUMNS   1000

double
progress_clock_s(void)
{
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// Returns whether stderr understands control sequences (TERM: common practice)
static bool
is_able_terminal(void)
{
  const char* const kind = getenv("TERM");
  return isatty(STDERR_FILENO) && kind && *kind && strcmp(kind, "dumb") != 0;
}

/// Returns the columns of the terminal, which may change at any time, less one:
/// after the last one some terminals start a new line
static uint32_t
columns(void)
{
  struct winsize    size   = {.ws_col = 0};
  const char* const asked  = getenv("COLUMNS");
  const long        number = asked ? strtol(asked, NULL, 10) : 0;
  uint32_t          n      = USUAL_COLUMNS;
  if (!ioctl(STDERR_FILENO, TIOCGWINSZ, &size) && size.ws_col) {
    n = size.ws_col;
  } else if (number > 0 && number <= MAX_COLUMNS) {
    n = (uint32_t)number;
  }
  return n - 1;
}

progress
progress_start(const char* label, bool is_quiet)
{
  const double now_s = progress_clock_s();
  progress     p     = {
            .may_show = !is_quiet && is_able_terminal(),
            .start_s  = now_s,
            .last_s   = now_s,
  };
  printable_copy(p.label, sizeof(p.label), label);
  p.label[printable_fit(p.label, LABEL_COLUMNS)] = '\0';
  return p;
}

/// Prints what there is room for: the bar goes first, then the name
static void
print(const progress* p, double share, const char* rest)
{
  const uint32_t room  = columns();
  const uint32_t label = printable_columns(p->label) + 1;
  const uint32_t words = (uint32_t)strlen(rest);
  (void)fputs("\r", stderr);
  if (label + words <= room) {
    const uint32_t left  = room - label - words;
    const uint32_t width = left < BAR_WIDTH + 3 ? left : BAR_WIDTH + 3;
    (void)fprintf(stderr, "%s ", p->label);
    if (share >= 0.0 && width >= MIN_BAR_WIDTH + 3) {
      const int bar    = (int)width - 3;
      const int filled = (int)(share * bar);
      (void)fprintf(stderr, "[%.*s%*s] ", filled,
                    "##############################", bar - filled, "");
    }
  }
  (void)fprintf(stderr, "%.*s\033[K", (int)room, rest);
}

void
progress_show(progress* p, uint64_t done, uint64_t total)
{
  const double now_s   = p->may_show ? progress_clock_s() : 0.0;
  const double since_s = now_s - p->start_s;
  char         rest[64];
  if (!p->may_show || since_s < SHOW_AFTER_S ||
      now_s - p->last_s < RENEW_EVERY_S) {
    return;
  }
  p->last_s   = now_s;
  p->is_shown = true;
  if (!total) {
    (void)snprintf(rest, sizeof(rest), "%.0f s", since_s);
    print(p, -1.0, rest);
    return;
  }
  const double share  = done < total ? (double)done / (double)total : 1.0;
  const double left_s = share > 0.0 ? since_s * (1.0 / share - 1.0) : 0.0;
  (void)snprintf(rest, sizeof(rest), "%3.0f %%, %.0f s left", 100.0 * share,
                 left_s);
  print(p, share, rest);
}

void
progress_end(progress* p)
{
  if (p->is_shown) {
    (void)fputs("\r\033[K", stderr);
    p->is_shown = false;
  }
}
