// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_save.h"

#include "setup_chain.h"
#include "setup_lines.h"
#include "setup_places.h"
#include "setup_replace.h"
#include "setup_value.h"

#include "plugins/text/input_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// What the file is to say
typedef struct {
  const setup_parts* parts;
  uint32_t           part;
  const float*       values;
} wanted;

/// A file being written anew
typedef struct {
  const setup_part*  part;
  const setup_stage* stage; ///< As the file has it, NULL if it has none
  const float*       values;
  setup_places       places;
  const char*        text; ///< Of the old file
  size_t             length;
  FILE*              to;
} saving;

/// Returns the value that a control has if the file does not mention it
static float
unmentioned(const saving* s, uint32_t i)
{
  return s->stage && s->stage->bases ? s->stage->bases[i]
                                     : s->part->controls[i].def;
}

static void
write_value(const saving* s,
            uint32_t      i,
            const char*   old,
            char          text[SETUP_VALUE_TEXT])
{
  const control_input* const c    = &s->part->controls[i];
  const float                base = unmentioned(s, i);
  if (s->places.has_from && (!old || setup_value_is_relative(old))) {
    setup_value_write_relative(c, s->values[i], base, old ? old : "base +",
                               text);
  } else {
    setup_value_write(c, s->values[i], text);
  }
}

/// Writes a line with another value; what stands before and behind it stays
static void
rewrite(const saving* s, uint32_t i, const char* line, size_t length)
{
  char        value[SETUP_VALUE_TEXT];
  const char* end   = line + length;
  const char* from  = memchr(line, '=', length);
  const char* colon = memchr(line, ':', length);
  if (!from || (colon && colon < from)) {
    from = colon;
  }
  ++from;
  while (from < end && strchr(" \t", *from)) {
    ++from;
  }
  const char* to = from;
  for (const char* c = from; c < end && !(*c == ';' && strchr(" \t", c[-1]));
       ++c) {
    to = strchr(" \t\r\n", *c) ? to : c + 1;
  }
  char* const old = strndup(from, (size_t)(to - from));
  write_value(s, i, old, value);
  free(old);
  (void)fprintf(s->to, "%.*s%s%.*s", (int)(from - line), line, value,
                (int)(end - to), to);
}

/// Writes the controls that the section does not mention and that are not as
/// then
static void
write_new(const saving* s)
{
  for (uint32_t i = 0; i < s->part->n_controls; ++i) {
    const char* const symbol = s->part->controls[i].symbol;
    char              value[SETUP_VALUE_TEXT];
    if (!s->places.lines[i] && !setup_part_is_of_track(s->part->stem, symbol) &&
        s->values[i] != unmentioned(s, i)) {
      write_value(s, i, NULL, value);
      (void)fprintf(s->to, "%s = %s\n", symbol, value);
    }
  }
}

/// Returns the control whose line this is and has changed, or -1
static int
changed(const saving* s, uint32_t line)
{
  for (uint32_t i = 0; i < s->part->n_controls; ++i) {
    if (s->places.lines[i] == line &&
        !setup_part_is_of_track(s->part->stem, s->part->controls[i].symbol) &&
        s->values[i] != s->stage->values[i]) {
      return (int)i;
    }
  }
  return -1;
}

static void
write_section(const saving* s)
{
  (void)fprintf(s->to, "[%s]\n", s->part->stem);
  write_new(s);
}

static void
write_line(const saving* s, uint32_t number, const char* line, size_t length)
{
  const int i = changed(s, number);
  if (!s->places.heading && number == s->places.later) {
    write_section(s);
    (void)fputc('\n', s->to);
  }
  if (i >= 0) {
    rewrite(s, (uint32_t)i, line, length);
  } else {
    (void)fwrite(line, 1, length, s->to);
  }
  if (line[length - 1] != '\n') {
    (void)fputc('\n', s->to);
  }
  if (s->places.heading && number == s->places.last) {
    write_new(s);
  }
}

static void
write_all(const saving* s)
{
  const char* line = s->text;
  const char* end  = s->text + s->length;
  for (uint32_t number = 1; line < end; ++number) {
    const char* const at = memchr(line, '\n', (size_t)(end - line));
    const size_t length  = at ? (size_t)(at + 1 - line) : (size_t)(end - line);
    write_line(s, number, line, length);
    line += length;
  }
  if (!s->places.heading && !s->places.later) {
    (void)fputs(s->length ? "\n" : "", s->to);
    write_section(s);
  }
}

/// Reads a whole file; an absent one is empty
static bool
read_text(const char* path, char** text, size_t* length, failure* f)
{
  *text   = malloc(INPUT_FILE_MAX + 1);
  *length = 0;
  if (!*text) {
    return fail_of_memory(f);
  }
  if (access(path, F_OK)) {
    return true;
  }
  FILE* const file = input_file_open(path, "a setup", f);
  if (!file) {
    return false;
  }
  *length       = fread(*text, 1, INPUT_FILE_MAX, file);
  const bool ok = !ferror(file);
  (void)fclose(file);
  return ok || fail_with(f, "%s: cannot be read; expected a setup", path);
}

/// Makes the new text; NULL without memory
static char*
make_text(saving* s, size_t* length)
{
  char* text = NULL;
  s->to      = open_memstream(&text, length);
  if (!s->to) {
    return NULL;
  }
  write_all(s);
  const bool ok = !ferror(s->to);
  if (fclose(s->to) || !ok) {
    free(text);
    return NULL;
  }
  return text;
}

/// Whether the new file says what it should
static bool
check(const char* path, const void* user, failure* f)
{
  const wanted* const w = user;
  setup_chain         chain;
  if (!setup_chain_load(&chain, path, w->parts, f)) {
    return false;
  }
  const setup_part* const  p     = &w->parts->parts[w->part];
  const setup_stage* const stage = setup_chain_stage(&chain, w->part);
  bool                     ok    = stage != NULL;
  for (uint32_t i = 0; ok && i < p->n_controls; ++i) {
    ok = setup_part_is_of_track(p->stem, p->controls[i].symbol) ||
         stage->values[i] == w->values[i] ||
         fail_with(f, "%s: %s would not read back as it is", path,
                   p->controls[i].symbol);
  }
  setup_chain_clear(&chain);
  return ok;
}

static bool
save_over(const char*        path,
          const wanted*      w,
          const setup_chain* chain,
          const char*        text,
          size_t             length,
          failure*           f)
{
  saving s = {.part   = &w->parts->parts[w->part],
              .stage  = setup_chain_stage(chain, w->part),
              .values = w->values,
              .text   = text,
              .length = length};
  bool   ok =
    setup_places_find(&s.places, path, text, length, w->parts, w->part, f);
  size_t      n     = 0;
  char* const whole = ok ? make_text(&s, &n) : NULL;
  if (ok) {
    ok = whole ? setup_replace(path, whole, n, check, w, f) : fail_of_memory(f);
  }
  free(whole);
  setup_places_clear(&s.places);
  return ok;
}

bool
setup_save(const char*        path,
           const setup_parts* parts,
           uint32_t           part,
           const float*       values,
           failure*           f)
{
  const wanted w      = {parts, part, values};
  setup_chain  chain  = {.stages = NULL};
  char*        text   = NULL;
  size_t       length = 0;
  bool         ok     = read_text(path, &text, &length, f);
  if (ok && length) { // What cannot be read is not touched
    ok = setup_chain_load(&chain, path, parts, f);
  }
  ok = ok && save_over(path, &w, &chain, text, length, f);
  setup_chain_clear(&chain);
  free(text);
  return ok;
}
