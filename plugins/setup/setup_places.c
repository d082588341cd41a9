// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_places.h"

#include "setup_lines.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
  setup_places*      places;
  const setup_parts* parts;
  uint32_t           part;
  bool               is_ours; ///< In our section
} reading;

static bool
take_section(void* user, uint32_t line, const char* name, failure* f)
{
  reading* const r  = user;
  const int      at = setup_parts_find(r->parts, name);
  (void)f;
  r->is_ours = at == (int)r->part;
  if (r->is_ours) {
    r->places->heading = r->places->last = line;
  } else if (at > (int)r->part && !r->places->later) {
    r->places->later = line;
  }
  return true;
}

static bool
take_value(void*       user,
           uint32_t    line,
           const char* symbol,
           const char* value,
           failure*    f)
{
  reading* const          r = user;
  const setup_part* const p = &r->parts->parts[r->part];
  const int               i = r->is_ours ? setup_part_control(p, symbol) : -1;
  (void)value;
  (void)f;
  if (i >= 0) {
    r->places->lines[i] = line;
    r->places->last     = line;
  }
  // In no section it has no other meaning
  r->places->has_from = r->places->has_from || !strcmp(symbol, "from");
  return true;
}

bool
setup_places_find(setup_places*      s,
                  const char*        path,
                  const char*        text,
                  size_t             length,
                  const setup_parts* parts,
                  uint32_t           part,
                  failure*           f)
{
  reading           r    = {.places = s, .parts = parts, .part = part};
  const setup_lines take = {.kind     = "a setup",
                            .headings = "[stage]",
                            .pair     = "symbol = value",
                            .section  = take_section,
                            .value    = take_value,
                            .user     = &r};
  uint32_t          n    = 0;
  *s                     = (setup_places){
                        .lines = calloc(parts->parts[part].n_controls + 1, sizeof(uint32_t))};
  return s->lines ? setup_lines_read_text(path, text, length, &take, &n, f)
                  : fail_of_memory(f);
}

void
setup_places_clear(setup_places* s)
{
  free(s->lines);
  s->lines = NULL;
}
