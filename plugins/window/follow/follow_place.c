// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Where a window stands in the song's journal, and what it is behind

#include "follow_state.h"
#include "mark.h"

#include "plugins/window/controls/control.h"

#include <math.h>

// ---------------------------------------------------------------------------
// Places

static void
save_one(const follow* f, const char* symbol, uint32_t value)
{
  const int param = shell_port(f->plugin, symbol);
  if (param >= 0 &&
      f->host.value(f->host.handle, (uint32_t)param) != (float)value) {
    f->host.write(f->host.handle, (uint32_t)param, (float)value);
  }
}

static void
save(const follow* f)
{
  save_one(f, "group", f->group);
  save_one(f, "group_mark", f->song);
  save_one(f, "group_move", f->place);
  save_one(f, "group_mask", f->mask);
}

static void
clear_way(journal_way* way)
{
  for (uint32_t i = 0; i < JOURNAL_PARAMS; ++i) {
    way->by[i]     = 0;
    way->choice[i] = -1;
  }
}

/// Lists what is a window's own as the parts of a move
static uint32_t
own_parts(const follow* f, journal_part parts[JOURNAL_PARAMS])
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < shell_param_count(f->plugin); ++i) {
    if (!follow_takes_part(f, i)) {
      continue;
    }
    if (f->own.by[i]) {
      const int64_t by = -f->own.by[i];
      parts[n++]       = (journal_part){i, false,
                                  by > JOURNAL_PLACE    ? JOURNAL_PLACE
                                        : by < -JOURNAL_PLACE ? -JOURNAL_PLACE
                                                              : (int32_t)by};
    } else if (f->own.choice[i] >= 0) {
      parts[n++] = (journal_part){i, true, f->own.choice[i]};
    }
  }
  return n;
}

void
follow_save_place(follow* f)
{
  journal_part      parts[JOURNAL_PARAMS];
  const uint32_t    n   = own_parts(f, parts);
  const journal_key key = follow_key(f);
  f->place              = n ? mark_new() : f->shared;
  if (n && !journal_write(&key, f->place, f->shared, true, parts, n)) {
    f->place = f->shared;
  }
  save(f);
}

void
follow_stand_at(follow* f, uint32_t shared)
{
  f->shared    = shared;
  f->is_behind = false;
  f->is_lost   = false;
  f->is_known  = true;
  clear_way(&f->own);
  clear_way(&f->ahead);
}

// ---------------------------------------------------------------------------
// Behind

bool
follow_target(const follow* f, uint32_t param, float* value)
{
  const param_info* const info = shell_param(f->plugin, param);
  const double            now  = (double)f->host.value(f->host.handle, param);
  if (!f->group || f->is_lost || !follow_takes_part(f, param)) {
    return false;
  }
  if (info->kind != PARAM_NUM) {
    const int32_t choice = f->ahead.choice[param];
    *value               = (float)choice;
    return choice >= 0 && choice != f->own.choice[param] &&
           choice != (int32_t)lround(now);
  }
  const int64_t by    = f->ahead.by[param] + f->own.by[param];
  const double  place = control_place(info, now);
  const double there = fmin(fmax(place + (double)by / JOURNAL_PLACE, 0.0), 1.0);
  *value             = follow_value(info, there);
  return fabs(there - place) > FOLLOW_NEAR;
}

static bool
has_target(const follow* f)
{
  float value = 0;
  for (uint32_t i = 0; i < shell_param_count(f->plugin); ++i) {
    if (follow_target(f, i, &value)) {
      return true;
    }
  }
  return false;
}

void
follow_arrive(follow* f)
{
  f->is_behind = has_target(f);
  if (f->is_behind || f->is_lost || !f->n_heads) {
    return;
  }
  f->shared = f->heads[f->head];
  for (uint32_t i = 0; i < JOURNAL_PARAMS; ++i) {
    f->own.by[i] += f->ahead.by[i];
    f->own.choice[i] = -1;
  }
  clear_way(&f->ahead);
}

static void
move_to_target(follow* f, uint32_t param)
{
  const param_info* const info  = shell_param(f->plugin, param);
  float                   value = 0;
  if (!follow_target(f, param, &value)) {
    return;
  }
  const double before =
    control_place(info, (double)f->host.value(f->host.handle, param));
  f->host.touch(f->host.handle, param, true);
  f->host.write(f->host.handle, param, value);
  f->host.touch(f->host.handle, param, false);
  if (info->kind != PARAM_NUM) {
    f->own.choice[param] = f->ahead.choice[param];
  } else {
    f->own.by[param] -=
      follow_parts(control_place(info, (double)value) - before);
  }
}

void
follow_catch_up_one(follow* f, uint32_t param)
{
  move_to_target(f, param);
  follow_arrive(f);
  follow_save_place(f);
}

void
follow_catch_up(follow* f)
{
  for (uint32_t i = 0; i < shell_param_count(f->plugin); ++i) {
    move_to_target(f, i);
  }
  follow_arrive(f);
  follow_save_place(f);
}

void
follow_keep(follow* f)
{
  if (f->n_heads) {
    follow_stand_at(f, f->heads[f->head]);
  } else {
    // A new beginning, so that others know that they do not know
    const journal_key key = follow_key(f);
    const uint32_t    id  = mark_new();
    (void)journal_write(&key, id, f->place, false, NULL, 0);
    follow_stand_at(f, id);
    f->heads[0] = id;
    f->n_heads  = 1;
  }
  follow_save_place(f);
}

// ---------------------------------------------------------------------------
// The journal

/// Takes apart the place that was saved
static void
find_shared(follow* f, const journal* j)
{
  const journal_move* const m = journal_find(j, f->place);
  follow_stand_at(f, m && m->is_own ? m->parent : f->place);
  for (uint32_t i = 0; m && m->is_own && i < m->n; ++i) {
    const journal_part* const part = &j->parts[m->first + i];
    if (part->is_choice) {
      f->own.choice[part->param] = part->by;
    } else {
      f->own.by[part->param] = -(int64_t)part->by;
    }
  }
}

static bool
is_members_place(const follow* f, uint32_t place)
{
  for (uint32_t i = 0; i < f->n_members; ++i) {
    const follow_member* const m = &f->members[i];
    if (m->song == f->song && m->group == f->group && m->place == place) {
      return true;
    }
  }
  return false;
}

/// How well a last move of the journal fits: better is more
static int
worth_of(const follow* f, const journal* j, uint32_t head)
{
  journal_way way;
  return (journal_way_to(j, f->shared, head, &way) ? 4 : 0) +
         (head == f->shared ? 2 : 0) + (is_members_place(f, head) ? 1 : 0);
}

/// Finds where to go: first where it stands, then where its open neighbours
/// are, then the newest.  What its place has nothing to do with only counts
/// where there is nothing else.
static void
find_heads(follow* f, const journal* j)
{
  uint32_t       all[FOLLOW_HEADS];
  const uint32_t n    = journal_heads(j, all, FOLLOW_HEADS);
  int            best = -1;
  f->n_heads          = 0;
  f->is_lost          = f->shared != JOURNAL_START;
  for (uint32_t i = 0; i < n; ++i) {
    const int worth = worth_of(f, j, all[i]);
    if (worth < 4 && best >= 4) {
      continue;
    }
    if (worth >= 4 && best < 4) {
      f->n_heads = 0;
    }
    if (worth > best) {
      best    = worth;
      f->head = f->n_heads;
    }
    f->heads[f->n_heads++] = all[i];
  }
  if (n) {
    f->is_lost = best < 4;
  }
}

static void
look_ahead(follow* f, const journal* j)
{
  if (f->n_heads && !f->is_lost) {
    (void)journal_way_to(j, f->shared, f->heads[f->head], &f->ahead);
  }
}

/// Compares its place with the journal's
static void
read_journal(follow* f, bool is_next)
{
  const journal_key key  = follow_key(f);
  const uint32_t    head = f->head;
  journal           j;
  if (!journal_read(&j, &key)) {
    return; // Without memory: later
  }
  find_shared(f, &j);
  find_heads(f, &j);
  if (is_next && f->n_heads) {
    f->head = (head + 1) % f->n_heads;
  }
  look_ahead(f, &j);
  journal_free(&j);

  const uint32_t place = f->place;
  follow_arrive(f);
  if (!f->is_behind && !f->is_lost && f->shared != place) {
    follow_save_place(f);
  }
}

void
follow_next_branch(follow* f)
{
  read_journal(f, true);
}

void
follow_look(follow* f)
{
  if (f->group && f->song) {
    read_journal(f, false);
    follow_say_here(f);
  } else {
    follow_stand_at(f, JOURNAL_START);
    f->n_heads = 0;
  }
}
