// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_chain.h"

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
  const setup_parts*    parts;
  setup_chain           base; ///< Empty without `from`
  uint32_t              from_line;
  uint32_t              align_line;
  setup_chain           now;
  uint32_t              current; ///< Stage of `now` in this section
  uint32_t              n_seen;  ///< Sections so far
  uint32_t*  seen_line; ///< By stage of `now`: line of its section, or 0
  uint32_t** set_line;  ///< By stage and control: line of its value, or 0
} reading;

static bool
load(setup_chain*       s,
     const char*        path,
     const setup_parts* parts,
     const reading*     parent,
     failure*           f);

static bool
fail_at(const reading* r, uint32_t line, failure* f)
{
  return setup_lines_fail_at(r->path, line, f);
}

static const setup_part*
part_of(const reading* r, const setup_stage* stage)
{
  return &r->parts->parts[stage->part];
}

const setup_stage*
setup_chain_stage(const setup_chain* s, uint32_t part)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    if (s->stages[i].part == part) {
      return &s->stages[i];
    }
  }
  return NULL;
}

static void
clear_stage(setup_stage* stage)
{
  free(stage->values);
  free(stage->bases);
}

/// Makes a stage, its controls as in `values` or at their defaults
static bool
make_stage(const reading* r, setup_stage* stage, const float* values)
{
  const setup_part* const p = part_of(r, stage);
  stage->values             = calloc(p->n_controls + 1, sizeof(float));
  stage->bases = r->from_line ? calloc(p->n_controls + 1, sizeof(float)) : NULL;
  if (!stage->values || (r->from_line && !stage->bases)) {
    clear_stage(stage);
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

/// Inserts a stage at a place, with the notes on it: not mentioned so far.  No
/// stage comes twice, so there is room for all parts.
static bool
insert_stage(reading* r, uint32_t place, uint32_t part, const float* values)
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

/// Returns the path of a name that is relative to the folder of a file; NULL
/// without memory
static char*
path_beside(const char* file, const char* name)
{
  const char* const slash  = strrchr(file, '/');
  const size_t      folder = *name != '/' && slash ? slash + 1 - file : 0;
  const size_t      length = strlen(name);
  char* const       path   = malloc(folder + length + 1);
  if (path) {
    memcpy(path, file, folder);
    memcpy(path + folder, name, length + 1);
  }
  return path;
}

/// Checks that a base is there and does not lead back
static bool
check_base(const reading* r, const char* path, const char* name, failure* f)
{
  struct stat status;
  if (stat(path, &status) || S_ISDIR(status.st_mode)) {
    return fail_with(f, "from = %s: no file %s; expected another setup", name,
                     path);
  }
  for (const reading* above = r; above; above = above->parent) {
    if (status.st_dev == above->status.st_dev &&
        status.st_ino == above->status.st_ino) {
      return fail_with(
        f, "from = %s leads back to %s; expected a base that does not", name,
        above->path);
    }
  }
  return true;
}

static bool
load_base(reading* r, const char* path, failure* f)
{
  if (!load(&r->base, path, r->parts, r, f)) {
    return false;
  }
  for (uint32_t i = 0; i < r->base.n_stages; ++i) {
    const setup_stage* const stage = &r->base.stages[i];
    if (!insert_stage(r, i, stage->part, stage->values)) {
      return fail_of_memory(f);
    }
  }
  if (!r->align_line) {
    r->now.align = r->base.align;
  }
  return true;
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
  if (!path) {
    return fail_of_memory(f);
  }
  const bool ok =
    check_base(r, path, name, f) ? load_base(r, path, f) : fail_at(r, line, f);
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
  reading* const r    = user;
  const int      part = setup_parts_find(r->parts, name);
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
  if (!known && !insert_stage(r, place, (uint32_t)part, NULL)) {
    return fail_of_memory(f);
  }
  r->seen_line[place] = line;
  r->current          = place;
  ++r->n_seen;
  return true;
}

/// Takes what stands before the first section
static bool
take_head(reading*    r,
          uint32_t    line,
          const char* symbol,
          const char* value,
          failure*    f)
{
  if (!strcmp(symbol, "from")) {
    return take_base(r, line, value, f);
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
unknown_control(const reading*    r,
                const setup_part* p,
                uint32_t          line,
                const char*       symbol,
                failure*          f)
{
  if (!strcmp(symbol, "from")) {
    (void)fail_with(f, "'from' in a section; expected before the first one");
  } else {
    (void)setup_part_unknown(p, symbol, f);
  }
  return fail_at(r, line, f);
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

/// This file, and behind it those of its base
static bool
note_files(reading* r)
{
  const uint32_t n = 1 + r->base.n_files;
  r->now.files     = calloc(n, sizeof(*r->now.files));
  while (r->now.files && r->now.n_files < n) {
    const uint32_t i = r->now.n_files;
    r->now.files[i]  = strdup(i ? r->base.files[i - 1] : r->path);
    if (!r->now.files[i]) {
      return false;
    }
    ++r->now.n_files;
  }
  return r->now.files != NULL;
}

/// Makes room for all parts
static bool
begin(reading* r)
{
  const size_t n = r->parts->n + 1;
  r->now.stages  = calloc(n, sizeof(*r->now.stages));
  r->seen_line   = calloc(n, sizeof(*r->seen_line));
  r->set_line    = calloc(n, sizeof(*r->set_line));
  return r->now.stages && r->seen_line && r->set_line;
}

static bool
read_file(reading* r, failure* f)
{
  uint32_t          n_lines = 0;
  const setup_lines take    = {.kind     = "a setup",
                               .headings = "[stage]",
                               .pair     = "symbol = value",
                               .section  = take_section,
                               .value    = take_value,
                               .user     = r};
  (void)stat(r->path, &r->status); // A missing file is reported below
  if (!setup_lines_read(r->path, &take, &n_lines, f)) {
    return false;
  }
  if (!r->now.n_stages) {
    (void)fail_with(f, "no stage in this file; expected a section such as [%s]",
                    r->parts->parts[0].stem);
    return fail_at(r, n_lines ? n_lines : 1, f);
  }
  return true;
}

static bool
load(setup_chain*       s,
     const char*        path,
     const setup_parts* parts,
     const reading*     parent,
     failure*           f)
{
  reading r  = {.parent = parent, .path = path, .parts = parts};
  bool    ok = begin(&r) || fail_of_memory(f);
  ok         = ok && read_file(&r, f) && (note_files(&r) || fail_of_memory(f));
  for (uint32_t i = 0; i < r.now.n_stages; ++i) {
    free(r.set_line[i]);
  }
  free(r.set_line);
  free(r.seen_line);
  setup_chain_clear(&r.base);
  if (!ok) {
    setup_chain_clear(&r.now);
  }
  *s = r.now;
  return ok;
}

bool
setup_chain_load(setup_chain*       s,
                 const char*        path,
                 const setup_parts* parts,
                 failure*           f)
{
  return load(s, path, parts, NULL, f);
}

void
setup_chain_clear(setup_chain* s)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    clear_stage(&s->stages[i]);
  }
  for (uint32_t i = 0; i < s->n_files; ++i) {
    free(s->files[i]);
  }
  free(s->files);
  free(s->stages);
  *s = (setup_chain){.stages = NULL};
}
