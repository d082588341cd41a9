// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_file.h"

#include "session_keys.h"

#include "plugins/setup/setup_lines.h"
#include "plugins/text/utf8.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/slug.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define MAX_NAME 512
#define HEADINGS "[track NAME], [send plate], [send room], [bus] or [output]"

const char* const session_send_names[SESSION_N_SENDS] = {"plate", "room"};

/// A file being read
typedef struct {
  session*     s;
  section_kind kind;
  void*        target; ///< Of the section; NULL before the first
  uint32_t     seen;   ///< Keys of the section
  uint32_t     output_line;
} reading;

static bool
fail_at(const session* s, uint32_t line, failure* f)
{
  return setup_lines_fail_at(s->path, line, f);
}

static bool
check_name(const char* name, failure* f)
{
  const size_t n      = strlen(name);
  size_t       length = 1;
  for (const char* c = name; *c && length; c += length) {
    length = utf8_length(c);
  }
  return (length && n && n <= MAX_NAME) ||
         fail_with(f, "track '%s'; expected a name in UTF-8 of 1 to %d bytes",
                   name, MAX_NAME);
}

static bool
has_slug(const session* s, const char* slug)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    if (!strcasecmp(s->tracks[i].slug, slug)) { // As on disks that ignore case
      return true;
    }
  }
  return false;
}

/// Returns the slug of a name, with a number if an earlier track has the same
static char*
new_slug(const session* s, const char* name)
{
  char* const first = slug_new(name, "unnamed");
  char*       slug  = alloc_copy(first);
  for (uint32_t n = 2; has_slug(s, slug); ++n) {
    free(slug);
    slug = alloc_print("%s-%u", first, n);
  }
  free(first);
  return slug;
}

static bool
add_track(reading* r, uint32_t line, const char* name, failure* f)
{
  session* const s = r->s;
  if (!check_name(name, f)) {
    return false;
  }
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    if (!strcasecmp(s->tracks[i].name, name)) {
      return fail_with(f,
                       "a second track '%s' (first on line %u); expected "
                       "another name",
                       name, s->tracks[i].line);
    }
  }
  char* const slug = new_slug(s, name);
  s->tracks        = alloc_grow(s->tracks, s->n_tracks + 1, sizeof(*s->tracks));
  session_strip* const track = &s->tracks[s->n_tracks++];
  *track =
    (session_strip){.line = line, .name = alloc_copy(name), .slug = slug};
  r->kind   = SECTION_TRACK;
  r->target = track;
  return true;
}

static bool
start_track(reading* r, uint32_t line, const char* name, failure* f)
{
  if (*name != '"') {
    return add_track(r, line, name, f);
  }
  const char* rest     = NULL;
  char* const unquoted = setup_lines_unquote(name, &rest);
  const bool  ok =
    (unquoted && !*rest)
       ? add_track(r, line, unquoted, f)
       : fail_with(f, "track %s; expected its name alone in quotes", name);
  free(unquoted);
  return ok;
}

static bool
start_only(reading*       r,
           section_kind   kind,
           session_strip* strip,
           uint32_t       line,
           const char*    name,
           failure*       f)
{
  if (strip->line) {
    return fail_with(f,
                     "a second section for the %s (first on line %u); expected "
                     "one",
                     name, strip->line);
  }
  strip->line = line;
  strip->name = alloc_copy(name);
  strip->slug = alloc_copy(name);
  r->kind     = kind;
  r->target   = strip;
  return true;
}

static bool
start_output(reading* r, uint32_t line, failure* f)
{
  if (r->output_line) {
    return fail_with(f,
                     "a second section [output] (first on line %u); expected "
                     "one",
                     r->output_line);
  }
  r->output_line = line;
  r->kind        = SECTION_OUTPUT;
  r->target      = &r->s->output;
  return true;
}

static bool
start_section(reading* r, uint32_t line, const char* heading, failure* f)
{
  const size_t      word = strcspn(heading, " \t");
  const char* const name = heading + word + strspn(heading + word, " \t");
  if (word == 5 && !strncmp(heading, "track", word)) {
    return start_track(r, line, name, f);
  }
  for (uint32_t i = 0; i < SESSION_N_SENDS; ++i) {
    if (word == 4 && !strncmp(heading, "send", word) &&
        !strcmp(name, session_send_names[i])) {
      return start_only(r, SECTION_SEND, &r->s->sends[i], line, name, f);
    }
  }
  if (!strcmp(heading, "bus")) {
    return start_only(r, SECTION_BUS, &r->s->bus, line, "bus", f);
  }
  if (!strcmp(heading, "output")) {
    return start_output(r, line, f);
  }
  return fail_with(f, "unknown section [%s]; expected " HEADINGS, heading);
}

static bool
take_section(void* user, uint32_t line, const char* heading, failure* f)
{
  reading* const r = user;
  size_t         n = strlen(heading);
  while (n && (heading[n - 1] == ' ' || heading[n - 1] == '\t')) {
    --n;
  }
  char* const trimmed =
    alloc_print("%.*s", (int)n, heading); // "[ bus ]" is the bus
  const bool ok = start_section(r, line, trimmed + strspn(trimmed, " \t"), f) ||
                  fail_at(r->s, line, f);
  free(trimmed);
  r->seen = 0;
  if (ok && r->kind != SECTION_OUTPUT) {
    session_keys_default(r->kind, r->target);
  }
  return ok;
}

static bool
take_value(void*       user,
           uint32_t    line,
           const char* key,
           const char* value,
           failure*    f)
{
  reading* const r = user;
  if (!r->target) {
    (void)fail_with(f,
                    "'%s' before the first section; expected a section such as "
                    "[track NAME]",
                    key);
    return fail_at(r->s, line, f);
  }
  return session_keys_take(r->kind, r->target, &r->seen, r->s->path, line, key,
                           value, f) ||
         fail_at(r->s, line, f);
}

static bool
check_tracks(const session* s, uint32_t n_lines, failure* f)
{
  if (!s->n_tracks) {
    (void)fail_with(
      f, "no track in this file; expected a section such as [track NAME]");
    return fail_at(s, n_lines ? n_lines : 1, f);
  }
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    if (!s->tracks[i].file) {
      (void)fail_with(f, "track '%s' has no file; expected file = ...",
                      s->tracks[i].name);
      return fail_at(s, s->tracks[i].line, f);
    }
  }
  return true;
}

static bool
check_output(const session* s, uint32_t line, failure* f)
{
  if (s->output.stems == (float)STEMS_FLAC &&
      s->output.bits == (float)SAMPLES_FLOAT) {
    (void)fail_with(f, "stems = flac with bits = float: FLAC cannot hold "
                       "float; expected stems = wav, or bits = 16 or 24");
    return fail_at(s, line, f);
  }
  return true;
}

bool
session_load(session* s, const char* path, failure* f)
{
  *s        = (session){.path = alloc_copy(path)};
  reading r = {.s = s};
  session_keys_default(SECTION_OUTPUT, &s->output);

  const setup_lines take    = {.kind     = "a session",
                               .headings = HEADINGS,
                               .pair     = "key = value",
                               .section  = take_section,
                               .value    = take_value,
                               .user     = &r};
  uint32_t          n_lines = 0;
  const bool        ok      = setup_lines_read(path, &take, &n_lines, f) &&
                  check_tracks(s, n_lines, f) &&
                  check_output(s, r.output_line, f);
  if (!ok) {
    session_clear(s);
  }
  return ok;
}

static void
clear_strip(session_strip* s)
{
  free(s->name);
  free(s->slug);
  free(s->file);
  free(s->setup);
}

void
session_clear(session* s)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    clear_strip(&s->tracks[i]);
  }
  for (uint32_t i = 0; i < SESSION_N_SENDS; ++i) {
    clear_strip(&s->sends[i]);
  }
  clear_strip(&s->bus);
  free(s->tracks);
  free(s->output.cache);
  free(s->path);
  *s = (session){.path = NULL};
}
