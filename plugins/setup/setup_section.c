// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_section.h"

#include "setup_lines.h"
#include "setup_value.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A text being read
typedef struct {
  const setup_part*     part;
  const char*           name;
  float*                now;      ///< Of each control, as it will be
  uint32_t*             set_line; ///< Line that mentions it, or 0
  uint32_t              line;     ///< Of our heading, or 0
  bool                  is_ours;  ///< In our section
  bool                  has_head; ///< No heading so far
  bool                  has_from;
  setup_section_result* result;
} reading;

size_t
setup_section_write(const setup_part* p,
                    const float*      values,
                    char*             text,
                    size_t            room)
{
  size_t n = (size_t)snprintf(text, room, "[%s]\n", p->stem);
  for (uint32_t i = 0; i < p->n_controls && n < room; ++i) {
    const control_input* const c = &p->controls[i];
    char                       value[SETUP_VALUE_TEXT];
    if (!setup_part_is_of_track(p->stem, c->symbol)) {
      setup_value_write(c, values[i], value);
      n += (size_t)snprintf(text + n, room - n, "%s = %s\n", c->symbol, value);
    }
  }
  return n < room ? n : 0;
}

static void
note_fault(reading* r, const failure* f)
{
  if (r->result->n_faults++ == 0) {
    r->result->fault = *f;
  }
}

static bool
take_section(void* user, uint32_t line, const char* name, failure* f)
{
  reading* const r = user;
  r->is_ours       = !strcmp(name, r->part->stem);
  r->has_head      = true;
  if (r->is_ours && r->line) {
    (void)fail_with(f, "a second section [%s] (first on line %u); expected one",
                    name, r->line);
    (void)setup_lines_fail_at(r->name, line, f);
    note_fault(r, f);
    r->is_ours = false;
  }
  r->line = r->is_ours ? line : r->line;
  return true;
}

static bool
read_value(reading*    r,
           uint32_t    line,
           const char* symbol,
           const char* value,
           failure*    f)
{
  const setup_part* const p = r->part;
  const int               i = setup_part_control(p, symbol);
  if (i < 0) {
    return setup_part_unknown(p, symbol, f);
  }
  if (r->set_line[i]) {
    return fail_with(f, "a second %s in [%s] (first on line %u); expected one",
                     symbol, p->stem, r->set_line[i]);
  }
  r->set_line[i] = line;
  float read     = 0;
  if (!setup_value_read(&p->controls[i], value, NULL, &read, f)) {
    return false;
  }
  r->now[i] = setup_part_is_of_track(p->stem, symbol) ? r->now[i] : read;
  return true;
}

static bool
take_value(void*       user,
           uint32_t    line,
           const char* symbol,
           const char* value,
           failure*    f)
{
  reading* const r = user;
  if (!r->is_ours) {
    r->has_from = r->has_from || (!r->has_head && !strcmp(symbol, "from"));
    return true;
  }
  return read_value(r, line, symbol, value, f) ||
         setup_lines_fail_at(r->name, line, f);
}

/// Faults count in our section alone
static bool
take_fault(void* user, const failure* f)
{
  reading* const r = user;
  if (r->is_ours) {
    note_fault(r, f);
  }
  return true;
}

static void
keep(const reading* r, float* values)
{
  const setup_part* const p = r->part;
  for (uint32_t i = 0; i < p->n_controls; ++i) {
    const bool is_left = r->set_line[i] || r->has_from ||
                         setup_part_is_of_track(p->stem, p->controls[i].symbol);
    values[i] = is_left ? r->now[i] : p->controls[i].def;
  }
}

bool
setup_section_read(const setup_part*     p,
                   const char*           name,
                   const char*           text,
                   size_t                length,
                   float*                values,
                   setup_section_result* result)
{
  *result                   = (setup_section_result){.is_found = false};
  reading r                 = {.part   = p,
                               .name   = name,
                               .now    = calloc(p->n_controls + 1, sizeof(float)),
                               .result = result};
  r.set_line                = calloc(p->n_controls + 1, sizeof(*r.set_line));
  const setup_lines take    = {.kind     = "a setup",
                               .headings = "[stage]",
                               .pair     = "symbol = value",
                               .section  = take_section,
                               .value    = take_value,
                               .fault    = take_fault,
                               .user     = &r};
  uint32_t          n_lines = 0;
  failure           f       = {""};
  bool              ok      = false;
  if (!r.now || !r.set_line) {
    (void)fail_of_memory(&f);
  } else {
    memcpy(r.now, values, p->n_controls * sizeof(float));
    ok = setup_lines_read_text(name, text, length, &take, &n_lines, &f);
  }
  if (ok && r.line) {
    result->is_found = true;
    keep(&r, values);
  }
  if (!ok) {
    result->fault = f;
  }
  free(r.now);
  free(r.set_line);
  return ok;
}
