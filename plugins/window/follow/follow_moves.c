// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Leading and following while windows are open

#include "follow_state.h"
#include "mark.h"

#include "plugins/window/controls/control.h"

#include <math.h>
#include <string.h>

#define REPEAT_S 2.0 // A hand may rest on a control for long
#define SILENT_S 6.0 // The leader is gone

int64_t
follow_parts(double share)
{
  return llround(share * JOURNAL_PLACE);
}

float
follow_value(const param_info* info, double place)
{
  const double value  = control_value(info, place);
  const float  round_ = control_round(info, value);
  return fabs(control_place(info, (double)round_) - place) < FOLLOW_NEAR
           ? round_
           : control_held(info, value);
}

// ---------------------------------------------------------------------------
// Saying

static void
post(const follow* f, message m)
{
  m.song                      = f->song;
  m.sender                    = f->sender;
  m.stem                      = f->stem;
  m.group                     = f->group;
  const window_message packed = message_pack(&m);
  f->host.post(f->host.handle, &packed);
}

void
follow_say(const follow* f, message_kind kind, uint32_t a, int32_t b)
{
  if (f->group || kind == MESSAGE_ASK) {
    post(f, (message){.kind = kind, .a = a, .b = b});
  }
}

void
follow_say_here(const follow* f)
{
  follow_say(f, MESSAGE_HERE, f->shared, 0);
  if (f->group && f->name[0]) {
    message m = {.kind = MESSAGE_NAME};
    memcpy(m.text, f->name, sizeof(m.text));
    post(f, m);
  }
}

void
follow_ask(follow* f)
{
  f->n_members = 0;
  follow_say(f, MESSAGE_ASK, 0, 0);
}

// ---------------------------------------------------------------------------
// Leading

/// Returns the number of a control in the gesture, or -1
static int
led_index(const follow* f, uint32_t param)
{
  for (uint32_t i = 0; i < f->n_led; ++i) {
    if (f->led[i] == param) {
      return (int)i;
    }
  }
  return -1;
}

static journal_part
led_part(const follow* f, uint32_t i)
{
  const uint32_t          param = f->led[i];
  const param_info* const info  = shell_param(f->plugin, param);
  const double            now   = (double)f->host.value(f->host.handle, param);
  const double            from  = (double)f->led_from[i];
  if (info->kind != PARAM_NUM) {
    return (journal_part){param, true, (int32_t)lround(now)};
  }
  return (journal_part){param, false,
                        (int32_t)follow_parts(control_place(info, now) -
                                              control_place(info, from))};
}

void
follow_lead(follow* f, uint32_t param)
{
  if (!f->group || f->is_behind || f->is_lost || !follow_takes_part(f, param) ||
      led_index(f, param) >= 0) {
    return;
  }
  follow_let_go(f);
  f->is_leading         = true;
  f->led[f->n_led]      = param;
  f->led_from[f->n_led] = f->host.value(f->host.handle, param);
  ++f->n_led;
  f->said_s = f->now_s;
  follow_say(f, MESSAGE_HOLD, param, (int32_t)f->shared);
}

void
follow_alone(follow* f, uint32_t param)
{
  f->own.by[param] = 0;
}

void
follow_lead_to(follow* f, uint32_t param)
{
  const int i = led_index(f, param);
  if (i >= 0) {
    const journal_part part = led_part(f, (uint32_t)i);
    f->said_s               = f->now_s;
    follow_say(f, part.is_choice ? MESSAGE_CHOOSE : MESSAGE_MOVE, param,
               part.by);
  }
}

/// Returns a mark that no move of the journal has
static uint32_t
unused_mark(const follow* f)
{
  const journal_key key = follow_key(f);
  uint32_t          id  = mark_new();
  journal           j;
  if (journal_read(&j, &key)) {
    while (journal_find(&j, id)) {
      id = mark_new();
    }
    journal_free(&j);
  }
  return id;
}

void
follow_lead_end(follow* f)
{
  journal_part parts[JOURNAL_PARAMS];
  uint32_t     n = 0;
  if (!f->is_leading) {
    return;
  }
  for (uint32_t i = 0; i < f->n_led; ++i) {
    if (f->host.value(f->host.handle, f->led[i]) != f->led_from[i]) {
      parts[n++]           = led_part(f, i);
      f->own.by[f->led[i]] = 0; // The hand has said where it wants it
    }
  }
  f->is_leading = false;
  f->n_led      = 0;
  if (!n) {
    follow_say(f, MESSAGE_DONE, f->shared, (int32_t)f->shared);
    return;
  }
  const journal_key key    = follow_key(f);
  const uint32_t    parent = f->shared;
  const uint32_t    id     = unused_mark(f);
  (void)journal_write(&key, id, parent, false, parts, n);
  f->shared   = id;
  f->heads[0] = id;
  f->n_heads  = 1;
  f->head     = 0;
  follow_save_place(f);
  follow_say(f, MESSAGE_DONE, id, (int32_t)parent);
}

// ---------------------------------------------------------------------------
// Following

/// Begins to follow the leader with one control
static void
take_hold(follow* f, uint32_t param)
{
  const param_info* const info = shell_param(f->plugin, param);
  const double            base =
    control_place(info, (double)f->host.value(f->host.handle, param));
  int64_t* const owed = &f->own.by[param];
  if (f->hold[param].is_held) {
    return;
  }
  if (*owed > 0 ? base < 1.0 - FOLLOW_NEAR : base > FOLLOW_NEAR) {
    *owed = 0; // Not at that end any more: a hand or the host took it away
  }
  f->hold[param] = (follow_hold){true, base, 0};
  f->host.touch(f->host.handle, param, true);
}

void
follow_let_go(follow* f)
{
  for (uint32_t i = 0; i < JOURNAL_PARAMS; ++i) {
    if (f->hold[i].is_held) {
      f->hold[i].is_held = false;
      f->host.touch(f->host.handle, i, false);
    }
  }
  f->leader = 0;
}

static void
on_hold(follow* f, const message* m)
{
  if (f->is_leading || f->is_behind || f->is_lost || !f->is_known ||
      (uint32_t)m->b != f->shared || (f->leader && f->leader != m->sender)) {
    return;
  }
  f->leader = m->sender;
  if (follow_takes_part(f, m->a)) {
    take_hold(f, m->a);
  }
}

static void
on_move(follow* f, const message* m)
{
  const param_info* const info = shell_param(f->plugin, m->a);
  follow_hold* const      h    = &f->hold[m->a];
  if (f->leader != m->sender || !h->is_held || info->kind != PARAM_NUM ||
      m->b < -JOURNAL_PLACE || m->b > JOURNAL_PLACE) {
    return;
  }
  h->asked           = m->b;
  const double by    = (double)(h->asked + f->own.by[m->a]) / JOURNAL_PLACE;
  const float  value = follow_value(info, fmin(fmax(h->base + by, 0.0), 1.0));
  if (value != f->host.value(f->host.handle, m->a)) {
    f->host.write(f->host.handle, m->a, value);
  }
}

static void
on_choose(follow* f, const message* m)
{
  const param_info* const info = shell_param(f->plugin, m->a);
  if (f->leader == m->sender && f->hold[m->a].is_held &&
      info->kind != PARAM_NUM && m->b >= 0 && m->b <= (int32_t)info->max &&
      (float)m->b != f->host.value(f->host.handle, m->a)) {
    f->host.write(f->host.handle, m->a, (float)m->b);
  }
}

/// Takes the leader's new place; what was held at an end of its scale is owed
static void
on_done(follow* f, const message* m)
{
  const bool is_followed =
    f->leader == m->sender && (uint32_t)m->b == f->shared;
  for (uint32_t i = 0; is_followed && i < JOURNAL_PARAMS; ++i) {
    const follow_hold* const h = &f->hold[i];
    if (h->is_held && shell_param(f->plugin, i)->kind == PARAM_NUM) {
      const double place = control_place(
        shell_param(f->plugin, i), (double)f->host.value(f->host.handle, i));
      const int64_t owed =
        f->own.by[i] + h->asked - follow_parts(place - h->base);
      f->own.by[i] =
        fabs((double)owed) > FOLLOW_NEAR * JOURNAL_PLACE ? owed : 0;
    }
  }
  if (f->leader == m->sender) {
    follow_let_go(f);
  }
  if (!is_followed) {
    f->is_known  = false; // The journal says what it was
    f->changed_s = f->now_s;
  } else if (m->a != f->shared) {
    f->shared   = m->a;
    f->heads[0] = m->a;
    f->n_heads  = 1;
    f->head     = 0;
    follow_save_place(f);
  }
}

// ---------------------------------------------------------------------------
// Members

static follow_member*
member_of(follow* f, uint32_t sender)
{
  for (uint32_t i = 0; i < f->n_members; ++i) {
    if (f->members[i].sender == sender) {
      return &f->members[i];
    }
  }
  return NULL;
}

static void
on_here(follow* f, const message* m)
{
  follow_member* member = member_of(f, m->sender);
  if (!member && f->n_members < FOLLOW_MEMBERS) {
    member  = &f->members[f->n_members++];
    *member = (follow_member){.sender = m->sender};
  }
  if (member && m->kind == MESSAGE_HERE) {
    member->song  = m->song;
    member->group = m->group;
    member->place = m->a;
  } else if (member) {
    memcpy(member->name, m->text, sizeof(member->name));
  }
}

static void
on_bye(follow* f, const message* m)
{
  follow_member* const member = member_of(f, m->sender);
  if (member) {
    *member = f->members[--f->n_members];
  }
  if (f->leader == m->sender) {
    follow_let_go(f);
  }
}

/// What concerns the same group of the same song
static void
hear_leader(follow* f, const message* m)
{
  if (m->kind != MESSAGE_DONE && m->a >= shell_param_count(f->plugin)) {
    return;
  }
  if (f->leader == m->sender) {
    f->heard_s = f->now_s;
  }
  switch (m->kind) {
    case MESSAGE_HOLD:
      f->heard_s = f->now_s;
      on_hold(f, m);
      break;
    case MESSAGE_MOVE:
      on_move(f, m);
      break;
    case MESSAGE_CHOOSE:
      on_choose(f, m);
      break;
    case MESSAGE_DONE:
      on_done(f, m);
      break;
    default:
      break;
  }
}

void
follow_hear(follow* f, const window_message* w)
{
  message m;
  if (!message_unpack(w, &m) || m.sender == f->sender || m.stem != f->stem ||
      m.group > FOLLOW_GROUPS || m.kind >= MESSAGE_ROW_ASK) {
    return;
  }
  const bool is_ours =
    f->group && m.group == f->group && m.song && m.song == f->song;
  if (m.kind == MESSAGE_ASK) {
    follow_say_here(f);
  } else if (m.kind == MESSAGE_BYE) {
    on_bye(f, &m);
  } else if ((m.kind == MESSAGE_HERE || m.kind == MESSAGE_NAME) && m.group) {
    on_here(f, &m);
  } else if (is_ours) {
    hear_leader(f, &m);
  }
}

void
follow_watch(follow* f)
{
  if (f->is_leading && f->n_led && f->now_s - f->said_s >= REPEAT_S) {
    follow_lead_to(f, f->led[0]);
  }
  if (f->leader && f->now_s - f->heard_s >= SILENT_S) {
    follow_let_go(f);
    f->is_known  = false;
    f->changed_s = f->now_s;
  }
}
