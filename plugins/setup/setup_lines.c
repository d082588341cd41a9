// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_lines.h"

#include "plain_numbers.h"
#include "setup_quotes.h"

#include "plugins/text/input_file.h"

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
  bool               is_due; ///< inih owes the pair of this line
  bool               has_failed;
  failure*           f;
} lines;

/// After a fault: goes on if the caller wants it.  Returns false.
static bool
give_up(lines* l)
{
  const setup_lines* const take = l->take;
  l->has_failed = !take->fault || !take->fault(take->user, l->f);
  return false;
}

/// Fails with "file:line: what was found; what was expected"
static bool
refuse(lines* l, const char* found, const char* expected)
{
  (void)fail_with(l->f, "%s:%u: %s; expected %s", l->path, l->line, found,
                  expected);
  return give_up(l);
}

/// Whatever the caller wants, this is the end
static char*
stop(lines* l)
{
  l->has_failed = true;
  return NULL;
}

static bool
refuse_without_memory(lines* l)
{
  (void)fail_of_memory(l->f);
  (void)stop(l);
  return false;
}

static const char*
trimmed(char* text, size_t length)
{
  while (length && strchr(" \t\r\n", text[length - 1])) {
    text[--length] = '\0';
  }
  return text + strspn(text, " \t");
}

static bool
take_heading(lines* l, const char* text)
{
  bool              is_open = false;
  const char* const end     = setup_quotes_heading_end(text, &is_open);
  if (!end) {
    return refuse(l, is_open ? UNCLOSED : "a heading without ']'",
                  l->take->headings);
  }
  const char* const rest = end + 1 + strspn(end + 1, " \t");
  if (*rest && *rest != ';' && *rest != '#') {
    return refuse(l, "text after a heading", "the heading alone");
  }
  char* const name = strndup(text + 1, (size_t)(end - text - 1));
  if (!name) {
    return refuse_without_memory(l);
  }
  const bool ok = l->take->section(l->take->user, l->line, name, l->f);
  free(name);
  return ok || give_up(l);
}

/// Keeps the value in quotes, of which inih sees only the first quote
static bool
take_quote(lines* l, const char* quote)
{
  const char* rest = NULL;
  l->quoted        = setup_lines_unquote(quote, &rest);
  if (!rest) {
    return refuse(l, UNCLOSED, "a second one");
  }
  if (!l->quoted) {
    return refuse_without_memory(l);
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
  const char* const quote = setup_quotes_find(text);
  if (quote && !take_quote(l, quote)) {
    return NULL;
  }
  *length = quote ? (size_t)(quote + 1 - text) : strlen(text);
  return text;
}

/// inih keeps silent about a line without '=' until it is done
static bool
check_pair(lines* l)
{
  const bool is_due = l->is_due;
  l->is_due         = false;
  return !is_due || refuse(l, "a line without '='", l->take->pair);
}

/// Reads the next line; false at the end
static bool
read_line(lines* l, size_t* length)
{
  (void)check_pair(l); // Of the line before
  const ssize_t got = l->has_failed ? -1 : getline(&l->text, &l->room, l->file);
  if (got < 0) {
    return false;
  }
  ++l->line;
  *length = (size_t)got;
  l->n_bytes += *length;
  if (l->n_bytes > INPUT_FILE_MAX) { // It grows while it is read
    (void)refuse(l, "a file too long", "1 MiB at most");
    (void)stop(l);
    return false;
  }
  return true;
}

/// Returns the text of a line as inih should see it, without white space at its
/// start, which would make it continue the value above; NULL for a fault
static const char*
check_line(lines* l, size_t length, size_t room, size_t* n_shown)
{
  static const char byte_order_mark[] = "\xEF\xBB\xBF";
  if (memchr(l->text, '\0', length)) {
    (void)refuse(l, "not text", "an INI file");
    return NULL;
  }
  size_t mark = 0;
  while (l->line == 1 && !strncmp(l->text + mark, byte_order_mark, 3)) {
    mark += 3; // inih would skip a second one
  }
  const char* const text  = trimmed(l->text + mark, length - mark);
  const char* const shown = shown_line(l, text, n_shown);
  if (shown && *n_shown + 3 > room) {
    (void)refuse(l, "a line too long",
                 "197 characters at most, or its value in quotes");
    return NULL;
  }
  return shown;
}

/// Hands inih its next line
static char*
next_line(char* line, int room, void* user)
{
  lines* const l      = user;
  size_t       length = 0;
  if (!read_line(l, &length)) {
    return NULL;
  }
  size_t            n_shown = 0;
  const char* const shown   = check_line(l, length, (size_t)room, &n_shown);
  if (l->has_failed) {
    return NULL;
  }
  n_shown   = shown ? n_shown : 0; // What is at fault is left out
  l->is_due = n_shown > 0;
  (void)snprintf(line, (size_t)room, "%.*s\n", (int)n_shown,
                 shown ? shown : "");
  return line;
}

static int
take_pair(void* user, const char* section, const char* key, const char* value)
{
  (void)section; // Known from its heading
  lines* const l = user;
  l->is_due      = false;
  value          = l->quoted ? l->quoted : value;
  if (l->has_failed) {
    return false;
  }
  if (!*key || !*value) {
    (void)refuse(l, "nothing on one side of '='", l->take->pair);
  } else if (!l->take->value(l->take->user, l->line, key, value, l->f)) {
    (void)give_up(l);
  }
  return !l->has_failed;
}

bool
setup_lines_fail_at(const char* path, uint32_t line, failure* f)
{
  const failure what = *f;
  return fail_with(f, "%s:%u: %s", path, line, what.text);
}

/// Reads all of an open file, and closes it
static bool
read_all(lines* l, uint32_t* n_lines)
{
  const plain_numbers n      = plain_numbers_begin();
  const int           status = ini_parse_stream(next_line, l, take_pair, l);
  (void)check_pair(l);
  if (!l->has_failed && (status < 0 || ferror(l->file))) {
    (void)refuse(l, "cannot be read", l->take->kind);
    (void)stop(l);
  }
  plain_numbers_end(n);
  *n_lines = l->line;
  free(l->text);
  free(l->quoted);
  (void)fclose(l->file);
  return !l->has_failed;
}

bool
setup_lines_read(const char*        path,
                 const setup_lines* take,
                 uint32_t*          n_lines,
                 failure*           f)
{
  lines l = {.path = path, .take = take, .f = f};
  l.file  = input_file_open(path, take->kind, f);
  return l.file && read_all(&l, n_lines);
}

bool
setup_lines_read_text(const char*        name,
                      const char*        text,
                      size_t             length,
                      const setup_lines* take,
                      uint32_t*          n_lines,
                      failure*           f)
{
  lines l  = {.path = name, .take = take, .f = f};
  *n_lines = 0;
  if (!length) { // Which is no file to fmemopen()
    return true;
  }
  char* const copy = malloc(length);
  if (copy) {
    memcpy(copy, text, length);
    l.file = fmemopen(copy, length, "r");
  }
  const bool ok = l.file ? read_all(&l, n_lines) : fail_of_memory(f);
  free(copy);
  return ok;
}
