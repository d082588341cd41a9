// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "turtle_writer.h"

#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define XSD_DECIMAL "http://www.w3.org/2001/XMLSchema#decimal"
#define XSD_INTEGER "http://www.w3.org/2001/XMLSchema#integer"

static void
keep_error(turtle_writer* w, int error)
{
  w->error = w->error ? w->error : error;
}

// ---------------------------------------------------------------------------
// What serd calls

static size_t
write_bytes(const void* bytes, size_t n, void* writer)
{
  turtle_writer* const w         = writer;
  const size_t         n_written = fwrite(bytes, 1, n, w->file);
  if (n_written != n) {
    keep_error(w, errno);
  }
  return n_written;
}

/// serd would print it, and reports some errors in no other way
static SerdStatus
note_error(void* writer, const SerdError* error)
{
  turtle_writer* const w = writer;
  keep_error(w, EINVAL);
  return error->status;
}

static void
check(turtle_writer* w, SerdStatus status)
{
  if (status) {
    keep_error(w, EINVAL);
  }
}

// ---------------------------------------------------------------------------
// Nodes

static SerdNode
node_of(SerdType type, const char* text)
{
  SerdNode node = serd_node_from_string(type, (const uint8_t*)text);
  // Without the flags of quotes and new lines a string is one line in plain
  // quotes.  In triple quotes serd 0.30 misreads a quote and a backslash.
  node.flags = 0;
  return node;
}

/// serd would escape characters that no URI may have; that is no Turtle either
static bool
is_uri(const char* text)
{
  for (const char* c = text; *c; ++c) {
    if ((unsigned char)*c <= 0x20 || strchr("<>\"{}|^`\\", *c)) {
      return false;
    }
  }
  return true;
}

/// Free it with serd_node_free()
static SerdNode
node_print(turtle_writer* w, SerdType type, const char* format, va_list args)
{
  va_list again;
  va_copy(again, args);
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): it is, one line up
  const int   length = vsnprintf(NULL, 0, format, again);
  char* const text   = length < 0 ? NULL : malloc((size_t)length + 1);
  va_end(again);
  if (!text) {
    keep_error(w, ENOMEM);
    return SERD_NODE_NULL;
  }
  (void)vsnprintf(text, (size_t)length + 1, format, args);
  if (type == SERD_URI && !is_uri(text)) {
    keep_error(w, EINVAL);
  }
  const SerdNode shallow = node_of(type, text);
  const SerdNode node    = serd_node_copy(&shallow);
  free(text);
  return node;
}

static void
write_object(turtle_writer*     w,
             SerdStatementFlags flags,
             const char*        property,
             const SerdNode*    object,
             const char*        datatype)
{
  const SerdNode predicate = node_of(SERD_URI, property);
  const SerdNode type      = node_of(SERD_URI, datatype);
  if (w->depth) {
    flags |= SERD_ANON_CONT;
  }
  check(w, serd_writer_write_statement(w->serd, flags, NULL,
                                       &w->nodes[w->depth], &predicate, object,
                                       datatype ? &type : NULL, NULL));
}

static void
write_and_free(turtle_writer* w,
               const char*    property,
               SerdNode       object,
               const char*    datatype)
{
  write_object(w, 0, property, &object, datatype);
  serd_node_free(&object);
}

// ---------------------------------------------------------------------------
// Files

bool
turtle_writer_open(turtle_writer*       w,
                   const char*          path,
                   bool                 is_appended,
                   const char*          comment,
                   const turtle_prefix* prefixes,
                   uint32_t             n_prefixes)
{
  *w = (turtle_writer){.file = fopen(path, is_appended ? "a" : "w")};
  if (!w->file) {
    return false;
  }
  (void)fprintf(w->file, "# %s\n\n", comment);
  w->env = serd_env_new(NULL);
  w->serd =
    serd_writer_new(SERD_TURTLE, SERD_STYLE_ABBREVIATED | SERD_STYLE_CURIED,
                    w->env, NULL, write_bytes, w);
  serd_writer_set_error_sink(w->serd, note_error, w);
  for (uint32_t i = 0; i < n_prefixes; ++i) {
    const SerdNode name = node_of(SERD_LITERAL, prefixes[i].name);
    const SerdNode uri  = node_of(SERD_URI, prefixes[i].uri);
    check(w, serd_writer_set_prefix(w->serd, &name, &uri));
  }
  return true;
}

bool
turtle_writer_close(turtle_writer* w)
{
  while (w->depth) { // Or serd would leak their memory
    keep_error(w, EINVAL);
    turtle_writer_end_node(w);
  }
  check(w, serd_writer_finish(w->serd));
  serd_writer_free(w->serd);
  serd_env_free(w->env);
  serd_node_free(&w->nodes[0]);
  if (ferror(w->file)) {
    keep_error(w, EIO);
  }
  if (fclose(w->file)) {
    keep_error(w, errno);
  }
  errno = w->error;
  return !w->error;
}

// ---------------------------------------------------------------------------
// Statements

void
turtle_writer_subject(turtle_writer* w, const char* format, ...)
{
  va_list args;
  va_start(args, format);
  const SerdNode node = node_print(w, SERD_URI, format, args);
  va_end(args);
  check(w, w->depth ? SERD_ERR_BAD_ARG : SERD_SUCCESS);
  serd_node_free(&w->nodes[0]);
  w->nodes[0] = node;
}

void
turtle_writer_uri(turtle_writer* w,
                  const char*    property,
                  const char*    format,
                  ...)
{
  va_list args;
  va_start(args, format);
  write_and_free(w, property, node_print(w, SERD_URI, format, args), NULL);
  va_end(args);
}

void
turtle_writer_text(turtle_writer* w,
                   const char*    property,
                   const char*    format,
                   ...)
{
  va_list args;
  va_start(args, format);
  write_and_free(w, property, node_print(w, SERD_LITERAL, format, args), NULL);
  va_end(args);
}

void
turtle_writer_integer(turtle_writer* w, const char* property, int64_t value)
{
  write_and_free(w, property, serd_node_new_integer(value), XSD_INTEGER);
}

const char*
turtle_decimal(float value, char text[TURTLE_DECIMAL_SIZE])
{
  // Floats are at least 2^-149 or 1.4e-45 apart
  for (int digits = 1; digits <= 45; ++digits) {
    (void)snprintf(text, TURTLE_DECIMAL_SIZE, "%.*f", digits, (double)value);
    if (strtof(text, NULL) == value) {
      break;
    }
  }
  return text;
}

void
turtle_writer_decimal(turtle_writer* w, const char* property, float value)
{
  char           text[TURTLE_DECIMAL_SIZE];
  const SerdNode node = node_of(SERD_LITERAL, turtle_decimal(value, text));
  write_object(w, 0, property, &node, XSD_DECIMAL);
}

void
turtle_writer_begin_node(turtle_writer* w, const char* property)
{
  if (w->depth == TURTLE_WRITER_MAX_DEPTH) {
    check(w, SERD_ERR_BAD_ARG);
    return;
  }
  char name[16];
  (void)snprintf(name, sizeof(name), "b%u", ++w->n_named);
  const SerdNode node = node_of(SERD_BLANK, name);
  write_object(w, SERD_ANON_O_BEGIN, property, &node, NULL);
  w->nodes[++w->depth] = serd_node_copy(&node);
}

void
turtle_writer_end_node(turtle_writer* w)
{
  if (!w->depth) {
    check(w, SERD_ERR_BAD_ARG);
    return;
  }
  check(w, serd_writer_end_anon(w->serd, &w->nodes[w->depth]));
  serd_node_free(&w->nodes[w->depth--]);
}
