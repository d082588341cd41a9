// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_exit.h"

#include <stddef.h>

static whole_exit* noted;

void
whole_exit_note(whole_exit* e, void (*remove)(void* user), void* user)
{
  *e    = (whole_exit){remove, user, noted};
  noted = e;
}

void
whole_exit_forget(const whole_exit* e)
{
  if (noted == e) {
    noted = e->next;
    return;
  }
  for (whole_exit* i = noted; i; i = i->next) {
    if (i->next == e) {
      i->next = e->next;
      return;
    }
  }
}

void
whole_exit_remove_all(void)
{
  for (const whole_exit* i = noted; i; i = i->next) {
    i->remove(i->user);
  }
}
