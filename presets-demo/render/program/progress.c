// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "progress.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define SHOW_AFTER_S  1.0
#define RENEW_EVERY_S 0.1
#define BAR_WIDTH     30

double
progress_clock_s(void)
{
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

progress
progress_start(const char* label, bool is_quiet)
{
  const double now_s = progress_clock_s();
  return (progress){
    .label    = label,
    .may_show = !is_quiet && isatty(STDERR_FILENO),
    .start_s  = now_s,
    .last_s   = now_s,
  };
}

void
progress_show(progress* p, uint64_t done, uint64_t total)
{
  const double now_s   = p->may_show ? progress_clock_s() : 0.0;
  const double since_s = now_s - p->start_s;
  if (!p->may_show || since_s < SHOW_AFTER_S ||
      now_s - p->last_s < RENEW_EVERY_S) {
    return;
  }
  p->last_s   = now_s;
  p->is_shown = true;
  if (!total) {
    (void)fprintf(stderr, "\r%.24s %.0f s\033[K", p->label, since_s);
    return;
  }
  const double share  = done < total ? (double)done / (double)total : 1.0;
  const int    filled = (int)(share * BAR_WIDTH);
  const double left_s = share > 0.0 ? since_s * (1.0 / share - 1.0) : 0.0;
  (void)fprintf(stderr, "\r%.24s [%.*s%*s] %3.0f %%, %.0f s left\033[K",
                p->label, filled, "##############################",
                BAR_WIDTH - filled, "", 100.0 * share, left_s);
}

void
progress_end(progress* p)
{
  if (p->is_shown) {
    (void)fputs("\r\033[K", stderr);
    p->is_shown = false;
  }
}
