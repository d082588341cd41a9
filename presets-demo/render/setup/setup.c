// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/path.h"
#include "setup_lines.h"
#include "setup_value.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// A file being read, and the file whose `from` named it
typedef struct reading {
  const struct reading* parent;
  const char*           path;
  struct stat           status;
  const catalogue*      parts;
  setup                 base; ///< Empty without `from`
  bool                  has_base;
  uint32_t              from_line;
  uint32_t              align_line;
  setup                 now;
  uint32_t              current; ///< Stage of `now` in this section
  uint32_t              n_seen;  ///< Sections so far
  uint32_t*  seen_line; ///< By stage of `now`: line of its section, or 0
  uint32_t** set_line;  ///< By stage and control: line of its value, or 0
} reading;

static bool
load(setup*           s,
     const char*      path,
     const catalogue* parts,
     const reading*   parent,
     failure*         f);

static bool
fail_at(const reading* r, uint32_t line, failure* f)
{
  return setup_lines_fail_at(r->path, line, f);
}

static int
stage_of(const setup* s, const part* p)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    if (s->stages[i].part == p) {
      return (int)i;
    }
  }
  return -1;
}

/// Inserts a stage at a place, its controls as in `values` or at their defaults
static void
insert_stage(setup* s, uint32_t place, const part* p, const float* values)
{
  const part_form* const form = &p->forms[0];
  s->stages = alloc_grow(s->stages, s->n_stages + 1, sizeof(*s->stages));
  memmove(s->stages + place + 1, s->stages + place,
          (s->n_stages - place) * sizeof(*s->stages));
  ++s->n_stages;
  s->stages[place] = (part_settings){
    .part   = p,
    .values = alloc_new(form->n_controls, sizeof(float)),
  };
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    s->stages[place].values[i] = values ? values[i] : form->controls[i].def;
  }
}

/// Inserts the notes on a stage of `now`: not mentioned so far
static void
insert_notes(reading* r, uint32_t place, const part* p)
{
  const uint32_t n = r->now.n_stages;
  r->seen_line     = alloc_grow(r->seen_line, n, sizeof(*r->seen_line));
  r->set_line      = alloc_grow(r->set_line, n, sizeof(*r->set_line));
  memmove(r->seen_line + place + 1, r->seen_line + place,
          (n - 1 - place) * sizeof(*r->seen_line));
  memmove(r->set_line + place + 1, r->set_line + place,
          (n - 1 - place) * sizeof(*r->set_line));
  r->seen_line[place] = 0;
  r->set_line[place]  = alloc_new(p->forms[0].n_controls, sizeof(uint32_t));
}

static bool
take_base(reading* r, uint32_t line, const char* name, failure* f)
{
  if (r->from_line) {
    (void)fail_with(f, "a second 'from' (first on line %u); expected one",
                    r->from_line);
    return fail_at(r, line, f);
  }
  r->from_line     = line;
  char* const path = path_beside(r->path, name);
  struct stat status;
  bool        ok = !stat(path, &status) && !S_ISDIR(status.st_mode);
  if (!ok) {
    (void)fail_with(f, "from = %s: no file %s; expected another setup", name,
                    path);
    (void)fail_at(r, line, f);
  }
  for (const reading* above = r; ok && above; above = above->parent) {
    if (status.st_dev == above->status.st_dev &&
        status.st_ino == above->status.st_ino) {
      (void)fail_with(
        f, "from = %s leads back to %s; expected a base that does not", name,
        above->path);
      ok = fail_at(r, line, f);
    }
  }
  ok = ok && load(&r->base, path, r->parts, r, f);
  for (uint32_t i = 0; ok && i < r->base.n_stages; ++i) {
    const part_settings* const stage = &r->base.stages[i];
    insert_stage(&r->now, i, stage->part, stage->values);
    insert_notes(r, i, stage->part);
  }
  if (ok && !r->align_line) {
    r->now.align = r->base.align;
  }
  r->has_base = ok;
  free(path);
  return ok;
}

static bool
take_align(reading* r, uint32_t line, const char* value, failure* f)
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

static bool
take_section(void* user, uint32_t line, const char* name, failure* f)
{
  reading* const    r = user;
  const part* const p = catalogue_part(r->parts, name);
  if (!p) {
    (void)catalogue_unknown_part(r->parts, name, f);
    return fail_at(r, line, f);
  }
  int place = stage_of(&r->now, p);
  if (place >= 0 && r->seen_line[place]) {
    (void)fail_with(f, "a second section [%s] (first on line %u); expected one",
                    name, r->seen_line[place]);
    return fail_at(r, line, f);
  }
  if (place < 0) {
    place = r->n_seen ? (int)r->current + 1 : 0;
    insert_stage(&r->now, (uint32_t)place, p, NULL);
    insert_notes(r, (uint32_t)place, p);
  }
  r->seen_line[place] = line;
  r->current          = (uint32_t)place;
  ++r->n_seen;
  return true;
}

/// Returns the value of `base` for a control of a part, NULL without a base
/// setup
static const float*
base_value(const reading* r, const part* p, uint32_t control)
{
  if (!r->has_base) {
    return NULL;
  }
  const int place = stage_of(&r->base, p);
  return place < 0 ? &p->forms[0].controls[control].def
                   : &r->base.stages[place].values[control];
}

static bool
take_value(void*       user,
           uint32_t    line,
           const char* symbol,
           const char* value,
           failure*    f)
{
  reading* const r = user;
  if (!r->n_seen) {
    if (!strcmp(symbol, "from")) {
      return take_base(r, line, value, f);
    }
    if (!strcmp(symbol, "align")) {
      return take_align(r, line, value, f);
    }
    (void)fail_with(
      f, "'%s' before the first section; expected a stage such as [%s]", symbol,
      r->parts->parts[0].stem);
    return fail_at(r, line, f);
  }
  const part_settings* const stage   = &r->now.stages[r->current];
  const int                  control = part_control(stage->part, symbol);
  if (control < 0) {
    if (!strcmp(symbol, "from")) {
      (void)fail_with(f, "'from' in a section; expected before the first one");
    } else {
      (void)part_unknown_control(stage->part, symbol, f);
    }
    return fail_at(r, line, f);
  }
  uint32_t* const set_line = &r->set_line[r->current][control];
  if (*set_line) {
    (void)fail_with(f, "a second %s in [%s] (first on line %u); expected one",
                    symbol, stage->part->stem, *set_line);
    return fail_at(r, line, f);
  }
  *set_line = line;
  return setup_value_read(&stage->part->forms[0].controls[control], value,
                          base_value(r, stage->part, (uint32_t)control),
                          &stage->values[control], f) ||
         fail_at(r, line, f);
}

/// This file, and behind it those of its base
static void
note_files(reading* r)
{
  const uint32_t n = 1 + r->base.n_files;
  r->now.files     = alloc_new(n, sizeof(*r->now.files));
  while (r->now.n_files < n) {
    const uint32_t i = r->now.n_files++;
    r->now.files[i]  = alloc_copy(i ? r->base.files[i - 1] : r->path);
  }
}

static bool
load(setup*           s,
     const char*      path,
     const catalogue* parts,
     const reading*   parent,
     failure*         f)
{
  reading r = {.parent = parent, .path = path, .parts = parts};
  (void)stat(path, &r.status); // setup_lines_read() reports a missing file
  uint32_t          n_lines = 0;
  const setup_lines take    = {.kind     = "a setup",
                               .headings = "[stage]",
                               .pair     = "symbol = value",
                               .section  = take_section,
                               .value    = take_value,
                               .user     = &r};
  bool              ok      = setup_lines_read(path, &take, &n_lines, f);
  if (ok && !r.now.n_stages) {
    (void)fail_with(f, "no stage in this file; expected a section such as [%s]",
                    parts->parts[0].stem);
    ok = fail_at(&r, n_lines ? n_lines : 1, f);
  }
  for (uint32_t i = 0; i < r.now.n_stages; ++i) {
    free(r.set_line[i]);
  }
  free(r.set_line);
  free(r.seen_line);
  note_files(&r);
  setup_clear(&r.base);
  if (!ok) {
    setup_clear(&r.now);
  }
  *s = r.now;
  return ok;
}

bool
setup_load(setup* s, const char* path, const catalogue* c, failure* f)
{
  *s = (setup){.stages = NULL};
  return load(s, path, c, NULL, f);
}

void
setup_clear(setup* s)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    free(s->stages[i].values);
  }
  for (uint32_t i = 0; i < s->n_files; ++i) {
    free(s->files[i]);
  }
  free(s->files);
  free(s->stages);
  *s = (setup){.stages = NULL};
}
