// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "track_row_state.h"

#include "mark.h"

#include <pthread.h>

/// A control holds 24 bits: TRACK_ROW_TURNED, the mark, and the number less 1
enum { NUMBER_BITS = 3, NUMBER_MASK = TRACK_ROWS - 1 };

/// The row of each number that a window of this process was in last, as values
/// of the control
static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
static uint32_t        seen[TRACK_ROWS];

static uint32_t
seen_value(uint32_t number)
{
  (void)pthread_mutex_lock(&mutex);
  const uint32_t value = seen[number - 1];
  (void)pthread_mutex_unlock(&mutex);
  return value;
}

uint32_t
track_row_number(uint32_t value)
{
  return value < TRACK_ROW_TURNED && value >> NUMBER_BITS
           ? 1 + (value & NUMBER_MASK)
           : 0;
}

// ---------------------------------------------------------------------------
// Saying

void
track_row_say(const track_row* r, message_kind kind, uint32_t a, int32_t b)
{
  if (r->number || kind == MESSAGE_ROW_ASK) {
    const message m = {.kind   = kind,
                       .song   = r->mark,
                       .sender = r->sender,
                       .group  = r->number ? r->number - 1 : 0,
                       .a      = a,
                       .b      = b};

    const window_message packed = message_pack(&m);
    r->host.post(r->host.handle, &packed);
  }
}

void
track_row_say_here(track_row* r, uint32_t turn)
{
  r->said_ready = r->host.is_ready(r->host.handle);
  track_row_say(r, MESSAGE_ROW_HERE, turn,
                (r->said_ready ? ROW_IS_READY : 0) |
                  (r->is_untreated ? ROW_IS_UNTREATED : 0));
}

// ---------------------------------------------------------------------------
// Membership

void
track_row_init(track_row* r, const track_row_host* host, uint32_t sender)
{
  *r = (track_row){.host = *host, .sender = sender};
}

void
track_row_turn(track_row* r, bool is_untreated)
{
  if (is_untreated != r->is_untreated) {
    r->is_untreated = is_untreated;
    r->host.turn(r->host.handle, is_untreated);
  }
}

static void
leave(track_row* r)
{
  track_row_turn(r, false);
  if (r->leads) { // Who called is gone: nobody may remember to go back
    track_row_say(r, MESSAGE_ROW_TURN, mark_new(), 0);
  }
  track_row_say(r, MESSAGE_ROW_BYE, 0, 0);
  r->number = r->mark = r->n_members = 0;
  r->phase                           = ROW_RESTS;
  r->leads                           = false;
}

void
track_row_end(track_row* r)
{
  leave(r);
}

void
track_row_take(track_row* r, uint32_t value)
{
  value &= ~TRACK_ROW_TURNED;
  const uint32_t number = track_row_number(value);
  const uint32_t mark   = number ? value >> NUMBER_BITS : 0;
  if (number == r->number && mark == r->mark) {
    return;
  }
  leave(r);
  r->number = number;
  r->mark   = mark;
  if (number) {
    (void)pthread_mutex_lock(&mutex);
    seen[number - 1] = value;
    (void)pthread_mutex_unlock(&mutex);
    track_row_say(r, MESSAGE_ROW_ASK, 0, 0);
    track_row_say_here(r, 0);
  }
}

void
track_row_enter(track_row* r, uint32_t value)
{
  track_row_take(r, value);
  r->host.save(r->host.handle, r->number ? value : 0);
}

void
track_row_choose(track_row* r, uint32_t number)
{
  uint32_t value = number ? seen_value(number) : 0;
  while (number && !track_row_number(value)) {
    value = (mark_new() & (TRACK_ROW_TURNED - 1U) & ~(uint32_t)NUMBER_MASK) |
            (number - 1);
  }
  track_row_enter(r, value);
}

void
track_row_ask(track_row* r)
{
  r->n_offers = 0;
  track_row_say(r, MESSAGE_ROW_ASK, 0, 0);
}

/// Notes a row that this window is not in
void
track_row_note(track_row* r, const message* m)
{
  const uint32_t value  = m->song << NUMBER_BITS | m->group;
  const uint32_t number = track_row_number(value);
  if (!number || value == seen_value(number)) {
    return; // Its number alone gets there
  }
  for (uint32_t i = 0; i < r->n_offers; ++i) {
    if (r->offers[i] == value) {
      return;
    }
  }
  if (r->n_offers < TRACK_ROW_OFFERS) {
    r->offers[r->n_offers++] = value;
  }
}

// ---------------------------------------------------------------------------
// Hearing

/// A window of the same row speaks
static void
hear_row(track_row* r, const message* m)
{
  switch (m->kind) {
    case MESSAGE_ROW_HERE:
      track_row_heed(r, m);
      break;
    case MESSAGE_ROW_BYE:
      track_row_forget(r, m->sender);
      break;
    case MESSAGE_ROW_CALL:
      r->host.match(r->host.handle);
      track_row_say_here(r, 0);
      break;
    case MESSAGE_ROW_TURN:
      if (m->b == 0 || m->b == 1) {
        track_row_yield(r);
        track_row_turn(r, m->b == 1);
        track_row_say_here(r, m->a);
      }
      break;
    default:
      break;
  }
}

void
track_row_hear(track_row* r, const window_message* w)
{
  message m;
  if (!message_unpack(w, &m) || m.sender == r->sender ||
      m.kind < MESSAGE_ROW_ASK) {
    return;
  }
  const bool is_ours =
    r->number && m.song && m.song == r->mark && m.group == r->number - 1;
  if (m.kind == MESSAGE_ROW_ASK) {
    track_row_say_here(r, 0);
  } else if (is_ours) {
    hear_row(r, &m);
  } else if (m.kind == MESSAGE_ROW_HERE) {
    track_row_note(r, &m);
  }
}

void
track_row_tick(track_row* r, double now_s)
{
  const double before_s = r->now_s;
  r->now_s              = now_s;
  if (r->number && r->said_ready != r->host.is_ready(r->host.handle)) {
    track_row_say_here(r, 0);
  }
  track_row_go_on(r, before_s);
}
