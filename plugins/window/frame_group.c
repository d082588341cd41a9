// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_group.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// ---------------------------------------------------------------------------
// What the group asks of the sheet

static float
on_value(void* handle, uint32_t param)
{
  return memory_value(handle, param);
}

static void
on_write(void* handle, uint32_t param, float value)
{
  frame* const f = handle;
  if (frame_info(f, param)->is_hidden) {
    value_keep(f, param, value);
    return;
  }
  if (param == f->trim) {
    compare_leave(f);
  }
  value_write(f, param, value);
  memory_moved(f, param);
  f->followed_s[param] = f->now_s;
}

static void
on_touch(void* handle, uint32_t param, bool is_held)
{
  value_touch(handle, param, is_held);
}

static void
on_post(void* handle, const window_message* m)
{
  const frame* const f = handle;
  if (f->host.say) {
    f->host.say(f->host.handle, m);
  }
}

void
group_begin(frame* f)
{
  const follow_host host = {f, on_value, on_write, on_touch, on_post};
  follow_init(&f->group, f->form.plugin, &host);
  group_menu_name(f);
}

void
group_end(frame* f)
{
  if (f->group.plugin) {
    follow_end(&f->group);
  }
}

/// What the sheet shows of the group
static uint32_t
seen(const frame* f)
{
  const follow* const g = &f->group;
  return g->group | (uint32_t)g->is_behind << 3U | (uint32_t)g->is_lost << 4U |
         g->head << 5U | g->n_heads << 10U;
}

void
group_tick(frame* f)
{
  const char* const name = f->loaded.path ? f->loaded.name : "";
  if (strncmp(f->group.name, name, MESSAGE_TEXT) != 0) {
    follow_set_name(&f->group, name);
  }
  follow_tick(&f->group, f->now_s);
  if (seen(f) != f->group_seen && !f->drag.is_down && !f->is_menu_open) {
    f->group_seen = seen(f);
    group_menu_name(f);
    help_ask(f);
    layout_build(f);
    f->bands |= BAND_ALL;
  }
}

void
frame_take_message(frame* f, const window_message* m)
{
  const uint32_t members = f->group.n_members;
  const uint32_t offers  = f->of_track.row.n_offers;
  ++f->news;
  follow_hear(&f->group, m);
  track_row_hear(&f->of_track.row, m);
  if (f->is_menu_open && f->menu_param == MENU_GROUP &&
      (f->group.n_members || members || f->of_track.row.n_offers != offers)) {
    layout_build(f);
    f->bands |= BAND_ALL;
  }
}

void
group_replay(frame* f, const gesture* g)
{
  for (uint32_t i = 0; i < g->n; ++i) {
    if (g->is_alone) {
      follow_alone(&f->group, g->moves[i].param);
    } else {
      follow_lead_to(&f->group, g->moves[i].param);
    }
  }
  follow_lead_end(&f->group);
}

// ---------------------------------------------------------------------------
// What the sheet says

char
group_letter(const frame* f, uint32_t param)
{
  return f->group.group && follow_takes_part(&f->group, param)
           ? (char)('P' + (int)f->group.group - 1)
           : '\0';
}

bool
group_asks(const frame* f)
{
  return f->group.group && (f->group.is_behind || f->group.is_lost);
}

/// Writes how far the group is ahead of a control, with its unit
static void
write_distance(const frame* f,
               uint32_t     param,
               float        to,
               char*        text,
               size_t       room)
{
  const param_info* const p  = frame_info(f, param);
  const float             by = fabsf(to - f->value[param]);
  char                    figure[CONTROL_TEXT];
  const char* const       unit = control_unit(p, by);
  control_figure(p, by, figure);
  (void)snprintf(text, room, "%s%s%s", figure, *unit ? " " : "", unit);
}

void
group_question(const frame* f, char text[HELP_QUESTION])
{
  const char letter = (char)('P' + (int)f->group.group - 1);
  uint32_t   first  = 0;
  uint32_t   n      = 0;
  float      to     = 0;
  float      value  = 0;
  if (f->group.is_lost) {
    (void)snprintf(text, HELP_QUESTION,
                   "The record of group %c is missing: nobody knows how far it "
                   "has moved.",
                   letter);
    return;
  }
  for (uint32_t i = 0; i < f->n_params; ++i) {
    if (follow_target(&f->group, i, &value)) {
      first = n ? first : i;
      to    = n ? to : value;
      ++n;
    }
  }
  const param_info* const p      = frame_info(f, first);
  char                    by[64] = "";
  if (n == 1 && p->kind == PARAM_NUM) {
    write_distance(f, first, to, by, sizeof(by));
    (void)snprintf(text, HELP_QUESTION,
                   "%s is %.40s behind group %c, which moved while this window "
                   "was closed.",
                   p->name, by, letter);
  } else {
    (void)snprintf(by, sizeof(by), n > 1 ? " and %u more are" : " is", n - 1);
    (void)snprintf(text, HELP_QUESTION,
                   "%s%.40s behind group %c, which moved while this window was "
                   "closed.",
                   p->name, by, letter);
  }
}

bool
group_behind(const frame* f, uint32_t param, char text[CONTROL_TEXT])
{
  float to = 0;
  char  figure[CONTROL_TEXT];
  if (!follow_target(&f->group, param, &to)) {
    return false;
  }
  if (frame_info(f, param)->kind != PARAM_NUM) {
    (void)snprintf(text, CONTROL_TEXT, "behind");
  } else {
    control_figure(frame_info(f, param), fabsf(to - f->value[param]), figure);
    (void)snprintf(text, CONTROL_TEXT, "%.16s behind", figure);
  }
  return true;
}

uint32_t
group_answers(const frame* f, const char* words[3])
{
  if (f->group.is_lost) {
    words[0] = "keep";
    return 1;
  }
  words[0] = "catch up";
  words[1] = "keep";
  words[2] = "other song"; // A copy of it has moved as well
  return f->group.n_heads > 1 ? 3 : 2;
}

void
group_answer(frame* f, uint32_t which)
{
  const char* words[3];
  if (which >= group_answers(f, words)) {
    return;
  }
  if (f->group.is_lost || which == 1) {
    follow_keep(&f->group);
  } else if (which == 0) {
    follow_catch_up(&f->group);
  } else {
    follow_next_branch(&f->group);
  }
  f->group_seen = seen(f);
  layout_build(f);
  f->bands |= BAND_ALL;
}
