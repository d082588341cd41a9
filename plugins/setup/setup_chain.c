// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_chain.h"

#include "setup_lines.h"
#include "setup_reading_state.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool
load(setup_chain*         s,
     const char*          path,
     const setup_parts*   parts,
     const setup_reading* parent,
     failure*             f);

static bool
fail_at(const setup_reading* r, uint32_t line, failure* f)
{
  return setup_lines_fail_at(r->path, line, f);
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
check_base(const setup_reading* r,
           const char*          path,
           const char*          name,
           failure*             f)
{
  struct stat status;
  if (stat(path, &status) || S_ISDIR(status.st_mode)) {
    return fail_with(f, "from = %s: no file %s; expected another setup", name,
                     path);
  }
  for (const setup_reading* above = r; above; above = above->parent) {
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
load_base(setup_reading* r, const char* path, failure* f)
{
  if (!load(&r->base, path, r->parts, r, f)) {
    return false;
  }
  for (uint32_t i = 0; i < r->base.n_stages; ++i) {
    const setup_stage* const stage = &r->base.stages[i];
    if (!setup_reading_insert(r, i, stage->part, stage->values)) {
      return fail_of_memory(f);
    }
  }
  if (!r->align_line) {
    r->now.align = r->base.align;
  }
  return true;
}

bool
setup_reading_base(setup_reading* r,
                   uint32_t       line,
                   const char*    name,
                   failure*       f)
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

/// This file, and behind it those of its base
static bool
note_files(setup_reading* r)
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
begin(setup_reading* r)
{
  const size_t n = r->parts->n + 1;
  r->now.stages  = calloc(n, sizeof(*r->now.stages));
  r->seen_line   = calloc(n, sizeof(*r->seen_line));
  r->set_line    = calloc(n, sizeof(*r->set_line));
  return r->now.stages && r->seen_line && r->set_line;
}

static bool
read_file(setup_reading* r, failure* f)
{
  uint32_t          n_lines = 0;
  const setup_lines take    = {.kind     = "a setup",
                               .headings = "[stage]",
                               .pair     = "symbol = value",
                               .section  = setup_reading_section,
                               .value    = setup_reading_value,
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
load(setup_chain*         s,
     const char*          path,
     const setup_parts*   parts,
     const setup_reading* parent,
     failure*             f)
{
  setup_reading r  = {.parent = parent, .path = path, .parts = parts};
  bool          ok = begin(&r) || fail_of_memory(f);
  ok = ok && read_file(&r, f) && (note_files(&r) || fail_of_memory(f));
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
