// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A against B at equal loudness, by the trim.  It moves when a memory is
/// called up, and once when both are known; never with a figure that still
/// settles.

#include "frame_state.h"

#include <math.h>
#include <stdio.h>

// The stage's meter shows an older figure until it has measured for 3 s, which
// begin up to 0.3 s after a change
#define HEARD_S   4.0
#define STEADY_S  1.0 // And it has stood so long
#define STEADY_DB 0.15
#define ECHO_DB   0.05F // What a host may lose of a value

bool
compare_is_on(const frame* f)
{
  return f->match_meter >= 0 && f->value[EQUAL_LOUDNESS] > 0.0F;
}

bool
compare_is_settled(const frame* f)
{
  return f->kept->of[0].is_heard && f->kept->of[1].is_heard;
}

float
compare_trim(const frame* f, float stored_db)
{
  const memory* const anchor = &f->kept->of[f->compare.anchor];
  const memory* const now    = &f->kept->of[f->kept->now];
  if (!compare_is_on(f) || now == anchor || !anchor->is_known ||
      !now->is_known) {
    return stored_db;
  }
  // Of a memory that has changed it takes the last figure: nearer than none
  const double wanted =
    (double)anchor->value[f->trim] + anchor->loudness_db - now->loudness_db;
  return control_held(frame_info(f, f->trim), wanted);
}

void
compare_play(frame* f, float stored_db)
{
  compare_state* const s        = &f->compare;
  const float          heard_db = compare_trim(f, stored_db);
  s->is_comparing               = heard_db != stored_db;
  s->stored_db                  = stored_db;
  s->heard_db                   = heard_db;
  if (heard_db != f->value[f->trim]) {
    value_put(f, f->trim, heard_db);
  }
  f->bands |= BAND_LEVELS;
}

void
compare_leave(frame* f)
{
  f->compare.is_comparing = false;
  f->bands |= BAND_LEVELS;
}

void
compare_end(frame* f)
{
  if (f->compare.is_comparing) {
    compare_leave(f);
    value_put(f, f->trim, f->compare.stored_db);
  }
}

/// Someone else moved the trim: that is the stored one now
static void
heed_host(frame* f)
{
  const float by_db = f->value[f->trim] - f->compare.heard_db;
  if (f->compare.is_comparing && fabsf(by_db) > ECHO_DB) {
    compare_leave(f);
  }
}

/// Begins and ends with the box
static void
heed_box(frame* f)
{
  compare_state* const s  = &f->compare;
  const bool           on = compare_is_on(f);
  if (on == s->was_on) {
    return;
  }
  s->was_on  = on;
  s->anchor  = f->kept->now;
  s->heard_s = s->steady_s = 0;
  for (int i = 0; i < 2; ++i) {
    f->kept->of[i].is_heard = f->kept->of[i].is_known = false;
  }
  compare_end(f);
  f->bands |= BAND_LEVELS;
}

static void
listen(frame* f, double passed_s)
{
  compare_state* const s = &f->compare;
  memory* const        m = &f->kept->of[f->kept->now];
  const double         db =
    (double)f->meter[f->match_meter] - (double)f->value[f->trim];
  s->heard_s += passed_s;
  s->steady_s += passed_s;
  if (fabs(db - s->steady_db) > STEADY_DB || s->steady_s == passed_s) {
    s->steady_db = db;
    s->steady_s  = passed_s;
  }
  if (s->heard_s < HEARD_S || s->steady_s < STEADY_S) {
    return;
  }
  const bool is_new = !m->is_heard;
  m->loudness_db    = db;
  m->is_known       = true;
  m->is_heard       = true;
  if (is_new && !f->blind.is_on) {
    compare_play(f, memory_value(f, f->trim));
  }
}

void
compare_tick(frame* f, double passed_s)
{
  heed_host(f);
  heed_box(f);
  const bool is_heard = f->value[ENABLED] > 0.0F && frame_is_playing(f);
  if (compare_is_on(f) && is_heard && !f->is_open && passed_s > 0) {
    listen(f, passed_s);
  }
}

void
compare_says(const frame* f, char text[COMPARE_TEXT])
{
  const uint32_t now = f->kept->now;
  text[0]            = '\0';
  if (!compare_is_on(f) || f->blind.is_on || !memories_differ(f)) {
    return;
  }
  if (!f->kept->of[now].is_heard) {
    (void)snprintf(text, COMPARE_TEXT, "measuring %c", "AB"[now]);
  } else if (!f->kept->of[1 - now].is_heard) {
    (void)snprintf(text, COMPARE_TEXT, "%c not heard", "AB"[1 - now]);
  }
}
