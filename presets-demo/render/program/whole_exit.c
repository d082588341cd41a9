// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_exit.h"

#include <stddef.h>

static whole_exit* noted;
static unsigned    n_complete;
static unsigned    n_abandoned;

void
whole_exit_note(whole_exit* e, void (*remove)(void* user), void* user)
{
  *e    = (whole_exit){remove, user, noted};
  noted = e;
}

/// Returns true if it was noted
static bool
forget(const whole_exit* e)
{
  for (whole_exit** i = &noted; *i; i = &(*i)->next) {
    if (*i == e) {
      *i = e->next;
      return true;
    }
  }
  return false;
}

void
whole_exit_complete(const whole_exit* e)
{
  n_complete += forget(e);
}

void
whole_exit_abandon(const whole_exit* e)
{
  n_abandoned += forget(e);
}

bool
whole_exit_is_complete(void)
{
  return !noted && n_complete && !n_abandoned;
}

void
whole_exit_remove_all(void)
{
  for (const whole_exit* i = noted; i; i = i->next) {
    i->remove(i->user);
  }
}
