// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_lines.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/input_file.h"

#include <ini.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define UNCLOSED "a quote that is not closed"

typedef struct {
  const char*        path;
  FILE*              file;
  char*              text; ///< Last line, in the memory of getline()
  size_t             room;
  uint32_t           line;
  size_t             n_bytes; ///< So far
  char*              quoted;  ///< Value of this line, or NULL
  const setup_lines* take;
  bool               has_failed;
  failure*           f;
} lines;

/// Fails with "file:line: what was found; what was expected"
static bool
refuse(lines* l, const char* found, const char* expected)
{
  l->has_failed = true;
  return fail_with(l->f, "%s:%u: %s; expected %s", l->path, l->line, found,
                   expected);
}

static const char*
trimmed(char* text, size_t length)
{
  while (length && strchr(" \t\r\n", text[length - 1])) {
    text[--length] = '\0';
  }
  return text + strspn(text, " \t");
}

char*
setup_lines_unquote(const char* text, const char** rest)
{
  char* const value = alloc_new(strlen(text) + 1, 1);
  size_t      n     = 0;
  for (const char* c = text + 1; *c; ++c) {
    if (*c == '"' && *++c != '"') {
      *rest = c;
      return value;
    }
    value[n++] = *c;
  }
  free(value);
  return NULL;
}

/// Returns the ']' of a heading, outside of quotes; NULL if there is none
static const char*
heading_end(const char* text, bool* is_open)
{
  *is_open = false;
  for (const char* c = text + 1; *c; ++c) {
    if (*c == '"' && strchr(" \t[", c[-1])) {
      const char* rest = NULL;
      free(setup_lines_unquote(c, &rest));
      if (!rest) {
        *is_open = true;
        return NULL;
      }
      c = rest;
    }
    if (*c == ']') {
      return c;
    }
    if (!*c) {
      break;
    }
  }
  return NULL;
}

static bool
take_heading(lines* l, const char* text)
{
  bool              is_open = false;
  const char* const end     = heading_end(text, &is_open);
  if (!end) {
    return refuse(l, is_open ? UNCLOSED : "a heading without ']'",
                  l->take->headings);
  }
  const char* const rest = end + 1 + strspn(end + 1, " \t");
  if (*rest && *rest != ';' && *rest != '#') {
    return refuse(l, "text after a heading", "the heading alone");
  }
  char* const name = alloc_print("%.*s", (int)(end - text - 1), text + 1);
  const bool  ok   = l->take->section(l->take->user, l->line, name, l->f);
  free(name);
  l->has_failed = !ok;
  return ok;
}

/// Returns the quote that a line's value starts with, or NULL.  To inih, white
/// space and ';' begin a comment.
static const char*
find_quote(const char* text)
{
  const char* c = text;
  while (*c && *c != '=' && *c != ':') {
    ++c;
    if (*c == ';' && strchr(" \t", c[-1])) {
      return NULL;
    }
  }
  if (*c) {
    c += 1 + strspn(c + 1, " \t");
  }
  return *c == '"' ? c : NULL;
}

/// Keeps the value in quotes, of which inih sees only the first quote
static bool
take_quote(lines* l, const char* quote)
{
  const char* rest = NULL;
  l->quoted        = setup_lines_unquote(quote, &rest);
  if (!l->quoted) {
    return refuse(l, UNCLOSED, "a second one");
  }
  const size_t space = strspn(rest, " \t");
  return !rest[space] || (space && rest[space] == ';') ||
         refuse(l, "text behind a closing quote", "the value alone");
}

/// Returns a line as inih should see it, and its length
static const char*
shown_line(lines* l, const char* text, size_t* length)
{
  free(l->quoted);
  l->quoted = NULL;
  *length   = 0;
  if (*text == '[') {
    return take_heading(l, text) ? "" : NULL;
  }
  if (*text == ';' || *text == '#') {
    return "";
  }
  const char* const quote = find_quote(text);
  if (quote && !take_quote(l, quote)) {
    return NULL;
  }
  *length = quote ? (size_t)(quote + 1 - text) : strlen(text);
  return text;
}

/// Hands inih its next line, without white space at its start, which would make
/// it continue the value above
static char*
next_line(char* line, int room, void* user)
{
  lines* const  l = user;
  const ssize_t length =
    l->has_failed ? -1 : getline(&l->text, &l->room, l->file);
  if (length < 0) {
    return NULL;
  }
  ++l->line;
  l->n_bytes += (size_t)length;
  if (l->n_bytes > INPUT_FILE_MAX) { // It grows while it is read
    (void)refuse(l, "a file too long", "1 MiB at most");
    return NULL;
  }
  if (memchr(l->text, '\0', (size_t)length)) {
    (void)refuse(l, "not text", "an INI file");
    return NULL;
  }
  static const char byte_order_mark[] = "\xEF\xBB\xBF";
  const size_t      mark =
    l->line == 1 && !strncmp(l->text, byte_order_mark, 3) ? 3 : 0;
  const char* const text    = trimmed(l->text + mark, (size_t)length - mark);
  size_t            n_shown = 0;
  const char* const shown   = shown_line(l, text, &n_shown);
  if (!shown) {
    return NULL;
  }
  if (n_shown + 3 > (size_t)room) {
    (void)refuse(l, "a line too long",
                 "197 characters at most, or its value in quotes");
    return NULL;
  }
  (void)snprintf(line, (size_t)room, "%.*s\n", (int)n_shown, shown);
  return line;
}

static int
take_pair(void* user, const char* section, const char* key, const char* value)
{
  (void)section; // Known from its heading
  lines* const l = user;
  value          = l->quoted ? l->quoted : value;
  if (!l->has_failed) {
    l->has_failed =
      *key && *value ? !l->take->value(l->take->user, l->line, key, value, l->f)
                     : !refuse(l, "nothing on one side of '='", l->take->pair);
  }
  return !l->has_failed;
}

bool
setup_lines_fail_at(const char* path, uint32_t line, failure* f)
{
  const failure what = *f;
  return fail_with(f, "%s:%u: %s", path, line, what.text);
}

bool
setup_lines_read(const char*        path,
                 const setup_lines* take,
                 uint32_t*          n_lines,
                 failure*           f)
{
  lines l = {.path = path, .take = take, .f = f};
  l.file  = input_file_open(path, take->kind, f);
  if (!l.file) {
    return false;
  }
  const int status = ini_parse_stream(next_line, &l, take_pair, &l);
  // inih reports a faulty line when it is done, and only the first one
  if (status > 0 && (!l.has_failed || (uint32_t)status < l.line)) {
    l.line = (uint32_t)status;
    (void)refuse(&l, "a line without '='", take->pair);
  } else if (status < 0 || ferror(l.file)) {
    (void)refuse(&l, "cannot be read", take->kind);
  }
  *n_lines = l.line;
  free(l.text);
  free(l.quoted);
  (void)fclose(l.file);
  return !l.has_failed;
}
