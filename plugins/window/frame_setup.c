// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stage's section of a setup: copied and pasted as text

#include "frame_state.h"
#include "setup_table.h"

#include "plugins/setup/setup_section.h"

enum { SECTION_TEXT = 8192 };

uint32_t
setup_part_of(const frame* f, const setup_table* t)
{
  const int i = setup_parts_find(setup_table_parts(t), f->form.plugin->stem);
  return i < 0 ? 0 : (uint32_t)i;
}

static const setup_part*
part_of(const frame* f, const setup_table* t)
{
  return &setup_table_parts(t)->parts[setup_part_of(f, t)];
}

/// Values would tell which memory plays
static bool
is_shut(frame* f)
{
  if (f->blind.is_on) {
    frame_say(f, "Not while the comparison is blind: tell ends it.");
  }
  return f->blind.is_on;
}

void
setup_copy(frame* f)
{
  char  text[SECTION_TEXT];
  float values[FRAME_PARAMS];
  if (is_shut(f)) {
    return;
  }
  setup_table* const t = setup_table_new();
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    values[i] = memory_value(f, i);
  }
  const size_t n =
    t ? setup_section_write(part_of(f, t), values, text, sizeof(text)) : 0;
  setup_table_free(t);
  if (n && f->host.copy && f->host.copy(f->host.handle, text, n)) {
    frame_say(f, "Copied as the section [%s] of a setup.",
              f->form.plugin->stem);
  } else {
    frame_say(f, "Cannot be copied: no clipboard.");
  }
}

void
setup_ask(frame* f)
{
  if (is_shut(f)) {
    return;
  }
  if (!f->host.ask || !f->host.ask(f->host.handle)) {
    frame_say(f, "Cannot be pasted: no clipboard.");
  }
}

/// Writes one control of a gesture if it changes
static uint32_t
put(frame* f, uint32_t param, float value)
{
  if (!memory_holds(f, param) || value == memory_value(f, param)) {
    return 0;
  }
  gesture_set(f, param, value);
  return 1;
}

uint32_t
setup_take(frame* f, const float* values)
{
  const int  trim     = shell_port(f->form.plugin, "trim_db");
  const bool is_lower = trim >= 0 && values[trim] < f->value[trim];
  uint32_t   n        = 0;
  gesture_begin(f);
  f->open.is_alone = true; // A setup is one track's
  if (is_lower) {          // First, so that nothing is louder in between
    n += put(f, (uint32_t)trim, values[trim]);
  }
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    n += (int)i == trim ? 0 : put(f, i, values[i]);
  }
  if (trim >= 0 && !is_lower) {
    n += put(f, (uint32_t)trim, values[trim]);
  }
  gesture_end(f);
  return n;
}

static void
say_pasted(frame* f, const setup_section_result* r, uint32_t n)
{
  if (r->n_faults > 1) {
    frame_say(f, "%u lines cannot be used, the first: %s", r->n_faults,
              r->fault.text);
  } else if (r->n_faults) {
    frame_say(f, "%s", r->fault.text);
  } else if (n) {
    frame_say(f, "Pasted: %u control%s moved.", n, n > 1 ? "s" : "");
  } else {
    frame_say(f, "Pasted: all controls stand so already.");
  }
}

void
frame_paste(frame* f, const char* text, size_t length, const char* why)
{
  setup_section_result r;
  float                values[FRAME_PARAMS];
  if (is_shut(f)) {
    return;
  }
  if (!text) {
    frame_say(f, "%s", why);
    return;
  }
  setup_table* const t = setup_table_new();
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    values[i] = memory_value(f, i);
  }
  if (!t) {
    frame_say(f, "out of memory");
  } else if (!setup_section_read(part_of(f, t), "clipboard", text, length,
                                 values, &r)) {
    frame_say(f, "%s", r.fault.text);
  } else if (!r.is_found) {
    frame_say(f, "Nothing to paste: the clipboard has no section [%s].",
              f->form.plugin->stem);
  } else {
    say_pasted(f, &r, setup_take(f, values));
  }
  setup_table_free(t);
}
