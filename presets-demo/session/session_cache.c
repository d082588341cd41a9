// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_cache.h"

#include "plugins/setup/setup_lines.h"
#include "plugins/text/spelling.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/printable.h"
#include "presets-demo/session/cache/cache_folder.h"

#include <stdlib.h>
#include <string.h>

#define BYTES_PER_GB 1e9

static bool
make_folder(const session_options* o, const session* s, failure* f)
{
  failure what = {""};
  if (o->cache) {
    return cache_folder_make(o->cache, &what) ||
           fail_with(f, "--cache %s: %s; expected a folder, or a name for one",
                     o->cache, what.text);
  }
  if (cache_folder_make(s->output.cache, &what)) {
    return true;
  }
  (void)fail_with(f, "cache = %s: %s; expected a folder, or a name for one",
                  s->output.cache, what.text);
  return setup_lines_fail_at(s->path, s->output.cache_line, f);
}

bool
session_cache_open(const char**           folder,
                   const session_options* o,
                   const session*         s,
                   failure*               f)
{
  *folder = o->cache ? o->cache : s->output.cache;
  if (*folder) {
    return make_folder(o, s, f);
  }
  return !(o->only.n || o->is_assembled) ||
         fail_with(f,
                   "%s: has no cache for %s; expected cache = FOLDER in its "
                   "[output], or --cache DIR",
                   s->path, o->only.n ? "--only" : "--assemble");
}

static bool
fail_unknown(const session* s, const char* name, failure* f)
{
  const char** const known = alloc_new(s->n_tracks, sizeof(*known));
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    known[i] = s->tracks[i].name;
  }
  const bool ok = spelling_fail("track", name, "", known, s->n_tracks, f);
  free((void*)known);
  const failure what = *f;
  (void)fail_with(f, "--only %s: %s", name, what.text);
  return ok;
}

bool
session_cache_choose(bool**                 chosen,
                     const session_options* o,
                     const session*         s,
                     failure*               f)
{
  *chosen = o->only.n ? alloc_new(s->n_tracks, sizeof(bool)) : NULL;
  for (uint32_t k = 0; k < o->only.n; ++k) {
    bool is_known = false;
    for (uint32_t i = 0; i < s->n_tracks; ++i) {
      if (!strcmp(s->tracks[i].name, o->only.names[k])) {
        (*chosen)[i] = true;
        is_known     = true;
      }
    }
    if (!is_known) {
      return fail_unknown(s, o->only.names[k], f);
    }
  }
  return true;
}

void
session_cache_warn_of_files(const mixdown* m, const session* s)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    const lane* const l = mixdown_lane(m, i);
    if (*l->take_failure.text) {
      printable_print(stderr,
                      PROGRAM ": warning: track '%s': %s; it is rendered "
                              "anew\n",
                      l->strip->name, l->take_failure.text);
    }
  }
}

void
session_cache_warn_of_room(const mixdown* m,
                           const session* s,
                           const char*    folder)
{
  const char* why = NULL;
  uint32_t    n   = 0;
  for (uint32_t i = 0; folder && i < s->n_tracks; ++i) {
    const failure* const f = &mixdown_lane(m, i)->keep_failure;
    why                    = why ? why : *f->text ? f->text : NULL;
    n += *f->text != '\0';
  }
  if (n) {
    printable_print(stderr,
                    PROGRAM ": warning: %u track%s not kept in the cache: %s\n",
                    n, n == 1 ? " is" : "s are", why);
  }
}

bool
session_cache_check(const mixdown* m,
                    const session* s,
                    const bool*    chosen,
                    failure*       f)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    const lane* const l = mixdown_lane(m, i);
    if (chosen[i] && !l->taken && !l->is_kept) {
      *f = l->keep_failure;
      return lane_fail(l, f);
    }
  }
  return true;
}

void
session_cache_print(FILE*          out,
                    const mixdown* m,
                    const session* s,
                    const bool*    chosen,
                    const char*    folder)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    if (chosen[i]) {
      char* const path = cache_folder_path(folder, mixdown_keys(m)[i]);
      printable_print(out, "%s: %s %s\n", s->tracks[i].name,
                      mixdown_lane(m, i)->taken ? "is in" : "rendered into",
                      path);
      free(path);
    }
  }
}

void
session_cache_clean(const mixdown* m, const session* s, const char* folder)
{
  if (folder) {
    cache_folder_clean(folder, mixdown_keys(m), s->n_tracks,
                       (double)s->output.cache_gb * BYTES_PER_GB);
  }
}
