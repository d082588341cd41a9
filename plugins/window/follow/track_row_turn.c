// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Leading a row to the untreated sound and back

#include "mark.h"
#include "track_row_state.h"

#include <stdio.h>

#define CALL_S   0.5 // So often it calls while it measures
#define SILENT_S 2.0 // Who does not answer for so long is gone
#define LATE_S   1.0 // Until then late answers count

static track_row_member*
member_of(track_row* r, uint32_t sender)
{
  for (uint32_t i = 0; i < r->n_members; ++i) {
    if (r->members[i].sender == sender) {
      return &r->members[i];
    }
  }
  return NULL;
}

static void
drop(track_row* r, track_row_member* member)
{
  *member = r->members[--r->n_members];
}

/// Counts the windows of the row that are ready, or have turned
static uint32_t
count(const track_row* r)
{
  const bool is_turn = r->phase == ROW_TURNS;
  uint32_t   n       = is_turn || r->host.is_ready(r->host.handle);
  for (uint32_t i = 0; i < r->n_members; ++i) {
    n += is_turn ? r->members[i].has_turned : r->members[i].is_ready;
  }
  return n;
}

static bool
is_complete(const track_row* r)
{
  return count(r) == r->n_members + 1;
}

bool
track_row_is_untreated(const track_row* r)
{
  bool is_untreated = r->is_untreated;
  for (uint32_t i = 0; i < r->n_members; ++i) {
    is_untreated = is_untreated || r->members[i].is_untreated;
  }
  return is_untreated;
}

void
track_row_says(const track_row* r, char text[TRACK_ROW_TEXT])
{
  const uint32_t n = count(r);
  if (r->phase == ROW_TURNS) {
    (void)snprintf(text, TRACK_ROW_TEXT, "%u of %u windows: %streated", n,
                   r->n_members + 1, r->is_untreated ? "un" : "");
  } else if (r->phase == ROW_MEASURES) {
    (void)snprintf(text, TRACK_ROW_TEXT, "measuring: %u of %u ready", n,
                   r->n_members + 1);
  } else {
    text[0] = '\0';
  }
}

/// What it says of its windows
static uint32_t
news(const track_row* r)
{
  return count(r) << 16U | r->n_members;
}

static void
tell(track_row* r)
{
  r->is_told = true;
  r->told    = news(r);
  r->host.tell(r->host.handle);
}

/// Turns the whole row
static void
turn_all(track_row* r, bool is_untreated)
{
  for (uint32_t i = 0; i < r->n_members; ++i) {
    r->members[i].has_turned = false;
  }
  r->phase   = ROW_TURNS;
  r->turn    = mark_new();
  r->since_s = r->now_s;
  r->is_told = false;
  r->leads   = is_untreated;
  track_row_turn(r, is_untreated);
  track_row_say(r, MESSAGE_ROW_TURN, r->turn, is_untreated);
  track_row_say_here(r, 0);
  if (!r->is_told && is_complete(r)) { // Alone, or all have answered at once
    tell(r);
  }
}

void
track_row_press(track_row* r)
{
  if (!r->number) {
    return;
  }
  if (r->phase == ROW_MEASURES) {
    r->phase = ROW_RESTS;
    tell(r);
  } else if (track_row_is_untreated(r)) {
    turn_all(r, false);
  } else {
    r->phase   = ROW_MEASURES;
    r->since_s = r->now_s;
    r->host.match(r->host.handle);
    track_row_say(r, MESSAGE_ROW_CALL, 0, 0);
    if (is_complete(r)) {
      turn_all(r, true);
    } else {
      tell(r);
    }
  }
}

void
track_row_heed(track_row* r, const message* m)
{
  track_row_member* member = member_of(r, m->sender);
  if (m->b < 0 || m->b > ROW_ALL_FLAGS) {
    return;
  }
  if (!member && r->n_members < TRACK_ROW_MEMBERS) {
    member  = &r->members[r->n_members++];
    *member = (track_row_member){.sender = m->sender};
  }
  if (!member) {
    return;
  }
  member->is_ready     = m->b & ROW_IS_READY;
  member->is_untreated = m->b & ROW_IS_UNTREATED;
  member->heard_s      = r->now_s;
  if (r->phase == ROW_TURNS && m->a == r->turn) {
    member->has_turned = true;
    if (r->is_told || is_complete(r)) {
      tell(r);
    }
  }
}

void
track_row_forget(track_row* r, uint32_t sender)
{
  track_row_member* const member = member_of(r, sender);
  if (member) {
    drop(r, member);
  }
}

void
track_row_yield(track_row* r)
{
  r->phase = ROW_RESTS;
  r->leads = false;
}

/// Drops the windows that have not been heard for a time, or have not turned
static void
drop_silent(track_row* r)
{
  for (uint32_t i = r->n_members; i-- > 0;) {
    const track_row_member* const m = &r->members[i];
    if (r->phase == ROW_TURNS ? !m->has_turned
                              : r->now_s - m->heard_s > SILENT_S) {
      drop(r, &r->members[i]);
    }
  }
}

static void
measure(track_row* r, double before_s)
{
  const double passed_s = r->now_s - r->since_s;
  const double then_s   = before_s - r->since_s;
  if ((int)(passed_s / CALL_S) != (int)(then_s / CALL_S)) {
    track_row_say(r, MESSAGE_ROW_CALL, 0, 0);
    drop_silent(r);
  }
  if (is_complete(r)) {
    turn_all(r, true);
  } else if (news(r) != r->told) {
    tell(r);
  }
}

void
track_row_go_on(track_row* r, double before_s)
{
  const double passed_s = r->now_s - r->since_s;
  if (r->phase == ROW_MEASURES) {
    measure(r, before_s);
  } else if (r->phase == ROW_TURNS && passed_s >= LATE_S) {
    drop_silent(r);
    r->phase = ROW_RESTS;
  } else if (r->phase == ROW_TURNS && !r->is_told &&
             passed_s >= TRACK_ROW_ANSWER_S) {
    tell(r);
  }
}
