// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_reading_state.h"

#include "setup_lines.h"
#include "setup_value.h"

#include <stdlib.h>
#include <string.h>

static bool
fail_at(const setup_reading* r, uint32_t line, failure* f)
{
  return setup_lines_fail_at(r->path, line, f);
}

static const setup_part*
part_of(const setup_reading* r, const setup_stage* stage)
{
  return &r->parts->parts[stage->part];
}

/// Makes a stage, its controls as in `values` or at their defaults
static bool
make_stage(const setup_reading* r, setup_stage* stage, const float* values)
{
  const setup_part* const p = part_of(r, stage);
  stage->values             = calloc(p->n_controls + 1, sizeof(float));
  stage->bases = r->from_line ? calloc(p->n_controls + 1, sizeof(float)) : NULL;
  if (!stage->values || (r->from_line && !stage->bases)) {
    free(stage->values);
    free(stage->bases);
    return false;
  }
  for (uint32_t i = 0; i < p->n_controls; ++i) {
    stage->values[i] = values ? values[i] : p->controls[i].def;
    if (stage->bases) {
      stage->bases[i] = stage->values[i];
    }
  }
  return true;
}

bool
setup_reading_insert(setup_reading* r,
                     uint32_t       place,
                     uint32_t       part,
                     const float*   values)
{
  setup_stage     stage = {.part = part};
  uint32_t* const lines =
    calloc(r->parts->parts[part].n_controls + 1, sizeof(*lines));
  if (!lines || !make_stage(r, &stage, values)) {
    free(lines);
    return false;
  }
  setup_chain* const now = &r->now;
  const size_t       n   = now->n_stages++ - place;
  memmove(now->stages + place + 1, now->stages + place,
          n * sizeof(*now->stages));
  memmove(r->seen_line + place + 1, r->seen_line + place,
          n * sizeof(*r->seen_line));
  memmove(r->set_line + place + 1, r->set_line + place,
          n * sizeof(*r->set_line));
  now->stages[place]  = stage;
  r->seen_line[place] = 0;
  r->set_line[place]  = lines;
  return true;
}

static bool
take_align(setup_reading* r, uint32_t line, const char* value, failure* f)
{
  static char         symbol[]  = "align";
  static char         unit[]    = "";
  const control_input as_toggle = {
    .symbol = symbol, .unit = unit, .kind = CONTROL_TOGGLE, .max = 1.0F};
  float align = 0.0F;
  if (r->align_line) {
    (void)fail_with(f, "a second 'align' (first on line %u); expected one",
                    r->align_line);
    return fail_at(r, line, f);
  }
  r->align_line = line;
  if (!setup_value_read(&as_toggle, value, NULL, &align, f)) {
    return fail_at(r, line, f);
  }
  r->now.align = align > 0.0F;
  return true;
}

bool
setup_reading_section(void* user, uint32_t line, const char* name, failure* f)
{
  setup_reading* const r    = user;
  const int            part = setup_parts_find(r->parts, name);
  if (part < 0) {
    (void)setup_parts_unknown(r->parts, name, f);
    return fail_at(r, line, f);
  }
  const setup_stage* const known = setup_chain_stage(&r->now, (uint32_t)part);
  uint32_t                 place = known ? (uint32_t)(known - r->now.stages)
                                   : r->n_seen ? r->current + 1
                                               : 0;
  if (known && r->seen_line[place]) {
    (void)fail_with(f, "a second section [%s] (first on line %u); expected one",
                    name, r->seen_line[place]);
    return fail_at(r, line, f);
  }
  if (!known && !setup_reading_insert(r, place, (uint32_t)part, NULL)) {
    return fail_of_memory(f);
  }
  r->seen_line[place] = line;
  r->current          = place;
  ++r->n_seen;
  return true;
}

/// Takes what stands before the first section
static bool
take_head(setup_reading* r,
          uint32_t       line,
          const char*    symbol,
          const char*    value,
          failure*       f)
{
  if (!strcmp(symbol, "from")) {
    return setup_reading_base(r, line, value, f);
  }
  if (!strcmp(symbol, "align")) {
    return take_align(r, line, value, f);
  }
  (void)fail_with(f,
                  "'%s' before the first section; expected a stage such as "
                  "[%s]",
                  symbol, r->parts->parts[0].stem);
  return fail_at(r, line, f);
}

static bool
unknown_control(const setup_reading* r,
                const setup_part*    p,
                uint32_t             line,
                const char*          symbol,
                failure*             f)
{
  if (!strcmp(symbol, "from")) {
    (void)fail_with(f, "'from' in a section; expected before the first one");
  } else {
    (void)setup_part_unknown(p, symbol, f);
  }
  return fail_at(r, line, f);
}

bool
setup_reading_value(void*       user,
                    uint32_t    line,
                    const char* symbol,
                    const char* value,
                    failure*    f)
{
  setup_reading* const r = user;
  if (!r->n_seen) {
    return take_head(r, line, symbol, value, f);
  }
  const setup_stage* const stage   = &r->now.stages[r->current];
  const setup_part* const  p       = part_of(r, stage);
  const int                control = setup_part_control(p, symbol);
  if (control < 0) {
    return unknown_control(r, p, line, symbol, f);
  }
  uint32_t* const set_line = &r->set_line[r->current][control];
  if (*set_line) {
    (void)fail_with(f, "a second %s in [%s] (first on line %u); expected one",
                    symbol, p->stem, *set_line);
    return fail_at(r, line, f);
  }
  *set_line = line;
  return setup_value_read(&p->controls[control], value,
                          stage->bases ? &stage->bases[control] : NULL,
                          &stage->values[control], f) ||
         fail_at(r, line, f);
}
