// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "follow.h"

#include "follow_state.h"
#include "mark.h"

#include "plugins/setup/setup_part.h"

#include <string.h>

#define SAID_S 0.1 // Hosts say all controls at once

// ---------------------------------------------------------------------------
// What the host saves

void
follow_take(follow* f, uint32_t param, float value)
{
  const char* const symbol = shell_param(f->plugin, param)->symbol;
  uint32_t* const   kept   = !strcmp(symbol, "group")        ? &f->group
                             : !strcmp(symbol, "group_mark") ? &f->song
                             : !strcmp(symbol, "group_move") ? &f->place
                             : !strcmp(symbol, "group_mask") ? &f->mask
                                                             : NULL;
  if (kept && *kept != (uint32_t)value) {
    *kept        = (uint32_t)value;
    f->is_known  = false;
    f->changed_s = f->now_s;
  }
}

journal_key
follow_key(const follow* f)
{
  return (journal_key){f->plugin, (char)('P' + (int)f->group - 1), f->song};
}

// ---------------------------------------------------------------------------
// Membership

void
follow_init(follow* f, const plugin* p, const follow_host* host)
{
  *f = (follow){.plugin = p, .host = *host, .sender = mark_new()};
  while (shell_plugin(f->stem) != p) {
    ++f->stem;
  }
  follow_stand_at(f, JOURNAL_START);
}

bool
follow_may_take_part(const plugin* p, uint32_t param)
{
  return shell_mask_bit(p, param) &&
         !setup_part_is_of_track(p->stem, shell_param(p, param)->symbol);
}

bool
follow_takes_part(const follow* f, uint32_t param)
{
  return follow_may_take_part(f->plugin, param) &&
         !(f->mask & shell_mask_bit(f->plugin, param));
}

void
follow_end(follow* f)
{
  follow_lead_end(f);
  follow_let_go(f);
  follow_say(f, MESSAGE_BYE, 0, 0);
}

void
follow_set_name(follow* f, const char* name)
{
  size_t n = strlen(name);
  n        = n > MESSAGE_TEXT ? MESSAGE_TEXT : n;
  memset(f->name, 0, sizeof(f->name));
  memcpy(f->name, name, n);
  follow_say_here(f);
}

void
follow_join(follow* f, uint32_t group, uint32_t song, uint32_t place)
{
  follow_let_go(f);
  f->group = group;
  f->song  = song ? song : mark_new();
  follow_stand_at(f, song ? place : JOURNAL_START);
  f->n_heads = 0;
  follow_save_place(f);
  follow_look(f);
}

void
follow_leave(follow* f)
{
  follow_let_go(f);
  follow_say(f, MESSAGE_BYE, 0, 0);
  f->group = 0;
  follow_stand_at(f, JOURNAL_START);
  follow_save_place(f);
}

void
follow_leave_alone(follow* f, uint32_t param, bool is_alone)
{
  const uint32_t bit = shell_mask_bit(f->plugin, param);
  f->mask            = is_alone ? f->mask | bit : f->mask & ~bit;
  // As it is now, it is right
  f->own.by[param]     = -f->ahead.by[param];
  f->own.choice[param] = f->ahead.choice[param];
  follow_arrive(f);
  follow_save_place(f);
}

void
follow_tick(follow* f, double now_s)
{
  f->now_s = now_s;
  if (!f->is_known && now_s - f->changed_s >= SAID_S) {
    follow_look(f);
  }
  follow_watch(f);
}
