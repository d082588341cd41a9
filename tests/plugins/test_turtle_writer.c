// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Turtle reads back as it was written.  The judge is serd's reader, in its
/// strict mode, and the grammar of "RDF 1.1 Turtle" (W3C, 2014).

#include "tests/support/check.h"

#include "ttl/writer/turtle_writer.h"

#include <errno.h>
#include <float.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define EX          "http://example.org/ns#"
#define XSD         "http://www.w3.org/2001/XMLSchema#"
#define MAX_TRIPLES 64

static const turtle_prefix prefixes[] = {{"ex", EX}, {"rdf", TURTLE_RDF}};

static char          path[] = "/tmp/dustcap-turtle-XXXXXX";
static turtle_writer writer;

static void
open_at(const char* where, bool is_appended)
{
  assert_true(turtle_writer_open(&writer, where, is_appended, "A comment",
                                 prefixes,
                                 sizeof(prefixes) / sizeof(*prefixes)));
}

// ---------------------------------------------------------------------------
// Reading back

typedef struct {
  char     subject[64];
  char     property[64];
  char     object[256];
  char     datatype[64];
  SerdType type;
} triple;

static triple   triples[MAX_TRIPLES];
static uint32_t n_triples;
static SerdEnv* env;

/// Prefixes resolved, relative URIs as they are
static void
take(char* text, size_t size, const SerdNode* node)
{
  SerdChunk start = {NULL, 0};
  SerdChunk end   = {NULL, 0};
  if (!node || !node->buf) {
    *text = '\0';
  } else if (node->type == SERD_CURIE) {
    assert_int_equal(serd_env_expand(env, node, &start, &end), SERD_SUCCESS);
    (void)snprintf(text, size, "%.*s%.*s", (int)start.len,
                   (const char*)start.buf, (int)end.len, (const char*)end.buf);
  } else {
    (void)snprintf(text, size, "%s", (const char*)node->buf);
  }
}

static SerdStatus
take_prefix(void* handle, const SerdNode* name, const SerdNode* uri)
{
  (void)handle;
  return serd_env_set_prefix(env, name, uri);
}

static SerdStatus
take_statement(void*              handle,
               SerdStatementFlags flags,
               const SerdNode*    graph,
               const SerdNode*    subject,
               const SerdNode*    property,
               const SerdNode*    object,
               const SerdNode*    datatype,
               const SerdNode*    language)
{
  (void)handle;
  (void)flags;
  (void)graph;
  assert_true(n_triples < MAX_TRIPLES);
  triple* const t = &triples[n_triples++];
  take(t->subject, sizeof(t->subject), subject);
  take(t->property, sizeof(t->property), property);
  take(t->object, sizeof(t->object), object);
  take(t->datatype, sizeof(t->datatype), datatype);
  t->type = object->type == SERD_CURIE ? SERD_URI : object->type;
  assert_true(!language || !language->buf);
  return SERD_SUCCESS;
}

/// Finishes the file and reads it
static void
read_back(void)
{
  assert_true(turtle_writer_close(&writer));
  env                      = serd_env_new(NULL);
  SerdReader* const reader = serd_reader_new(SERD_TURTLE, NULL, NULL, NULL,
                                             take_prefix, take_statement, NULL);
  FILE* const       file   = fopen(path, "r");
  assert_non_null(file);
  serd_reader_set_strict(reader, true);
  n_triples = 0;
  assert_int_equal(
    serd_reader_read_file_handle(reader, file, (const uint8_t*)path),
    SERD_SUCCESS);
  (void)fclose(file);
  serd_reader_free(reader);
  serd_env_free(env);
}

static void
check_object(uint32_t i, SerdType type, const char* object)
{
  assert_true(i < n_triples);
  assert_string_equal(triples[i].object, object);
  assert_int_equal(triples[i].type, type);
}

// ---------------------------------------------------------------------------

static void
text_comes_back(void** state)
{
  (void)state;
  static const char* const texts[] = {
    "plain",
    "",
    "\"",
    "\"\"\"",
    "\\",
    "ends in a quote\"",
    "ends in a backslash\\",
    "\"\\", // Both, in both orders
    "\\\"",
    "\"\"\"\n\\",
    "\"Gr\xC3\xBC\xC3\x9F\" \\n is no newline",
    "a\nnewline, a\ttab, a\rreturn",
    "\xCE\xA9 m\xC2\xB3 \xE2\x82\xAC \xF0\x9F\x8E\xB8", // 2, 2, 3, 4 bytes
    "50 % of <this> and ex:that ; [ ] . #",
    "%s%n",
  };
  const uint32_t n = sizeof(texts) / sizeof(*texts);
  open_at(path, false);
  turtle_writer_subject(&writer, "urn:test:a");
  for (uint32_t i = 0; i < n; ++i) {
    turtle_writer_text(&writer, EX "text", "%s", texts[i]);
  }
  read_back();
  assert_int_equal(n_triples, n);
  for (uint32_t i = 0; i < n; ++i) {
    check_object(i, SERD_LITERAL, texts[i]);
    assert_string_equal(triples[i].datatype, "");
  }
}

static void
uris_come_back(void** state)
{
  (void)state;
  open_at(path, false);
  turtle_writer_subject(&writer, "urn:test:%s", "a%20b");
  turtle_writer_uri(&writer, TURTLE_RDF_TYPE, EX "Thing");
  turtle_writer_uri(&writer, EX "seeAlso", "%s.ttl", "other-file");
  turtle_writer_uri(&writer, EX "part", "urn:test:a#main_in");
  turtle_writer_uri(&writer, EX "part",
                    "urn:test:Gr%%C3%%BC\xC3\x9F"
                    "e");
  read_back();
  assert_int_equal(n_triples, 4);
  assert_string_equal(triples[0].subject, "urn:test:a%20b");
  assert_string_equal(triples[0].property, TURTLE_RDF_TYPE);
  check_object(0, SERD_URI, EX "Thing");
  assert_string_equal(triples[1].property, EX "seeAlso");
  check_object(1, SERD_URI, "other-file.ttl");
  check_object(2, SERD_URI, "urn:test:a#main_in");
  check_object(3, SERD_URI,
               "urn:test:Gr%C3%BC\xC3\x9F"
               "e");
}

static void
check_float(float x)
{
  char        text[TURTLE_DECIMAL_SIZE];
  char        less[TURTLE_DECIMAL_SIZE];
  const char* point = strchr(turtle_decimal(x, text), '.');
  if (!point || strtof(text, NULL) != x || text[strspn(text, "-0123456789.")]) {
    fail_msg("%.9g is written as %s", (double)x, text);
  }
  const int n_decimals = (int)strlen(point + 1);
  (void)snprintf(less, sizeof(less), "%.*f", n_decimals - 1, (double)x);
  if (n_decimals < 1 || (n_decimals > 1 && strtof(less, NULL) == x)) {
    fail_msg("%.9g is written as %s; expected the shortest", (double)x, text);
  }
}

static void
decimals_are_exact_and_short(void** state)
{
  (void)state;
  static const struct {
    float       x;
    const char* text;
  } known[] = {
    {0.0F, "0.0"},      {1.0F, "1.0"},
    {-24.0F, "-24.0"},  {0.1F, "0.1"},
    {-0.7F, "-0.7"},    {20000.0F, "20000.0"},
    {0.96F, "0.96"},    {99.95F, "99.95"},
    {1e-5F, "0.00001"}, {16777216.0F, "16777216.0"},
  };
  char text[TURTLE_DECIMAL_SIZE];
  for (uint32_t i = 0; i < sizeof(known) / sizeof(*known); ++i) {
    assert_string_equal(turtle_decimal(known[i].x, text), known[i].text);
  }
  check_float(FLT_MAX);
  check_float(-FLT_MAX);
  check_float(FLT_MIN);
  check_float(0x1p-149F); // The smallest
  uint32_t seed = 1;
  for (uint32_t i = 0; i < 50000; ++i) {
    seed             = seed * 1664525U + 1013904223U;
    const uint32_t u = seed ^ seed >> 15;
    float          x = 0.0F;
    memcpy(&x, &u, sizeof(x));
    if (isfinite(x)) {
      check_float(x);
    }
  }
}

static void
numbers_have_their_types(void** state)
{
  (void)state;
  open_at(path, false);
  turtle_writer_subject(&writer, "urn:test:a");
  turtle_writer_integer(&writer, EX "index", 12);
  turtle_writer_integer(&writer, EX "index", -3);
  turtle_writer_decimal(&writer, EX "value", 2.0F);
  turtle_writer_decimal(&writer, EX "value", -0.1F);
  read_back();
  assert_int_equal(n_triples, 4);
  check_object(0, SERD_LITERAL, "12");
  check_object(1, SERD_LITERAL, "-3");
  check_object(2, SERD_LITERAL, "2.0");
  check_object(3, SERD_LITERAL, "-0.1");
  for (uint32_t i = 0; i < n_triples; ++i) {
    assert_string_equal(triples[i].datatype,
                        i < 2 ? XSD "integer" : XSD "decimal");
  }
}

/// Writes two nodes of one property, and one in a node
static void
write_nodes(const char* subject)
{
  turtle_writer_subject(&writer, "%s", subject);
  turtle_writer_begin_node(&writer, EX "port");
  turtle_writer_integer(&writer, EX "index", 0);
  turtle_writer_begin_node(&writer, EX "unit");
  turtle_writer_text(&writer, EX "symbol", "dB");
  turtle_writer_end_node(&writer);
  turtle_writer_text(&writer, EX "name", "First");
  turtle_writer_end_node(&writer);
  turtle_writer_begin_node(&writer, EX "port");
  turtle_writer_integer(&writer, EX "index", 1);
  turtle_writer_end_node(&writer);
  turtle_writer_text(&writer, EX "name", "Whole");
}

/// The triples of write_nodes(), from `i`
static void
check_nodes(const char* subject, uint32_t i)
{
  assert_true(n_triples >= i + 8);
  const triple* const t       = &triples[i];
  const char* const   first   = t[0].object;
  const char* const   unit    = t[2].object;
  const char* const   second  = t[5].object;
  const char* const   want[8] = {subject, first,   first,  unit,
                                 first,   subject, second, subject};
  for (uint32_t k = 0; k < 8; ++k) {
    assert_string_equal(t[k].subject, want[k]);
  }
  assert_string_not_equal(first, second);
  assert_string_not_equal(first, unit);
  check_object(i + 1, SERD_LITERAL, "0");
  check_object(i + 3, SERD_LITERAL, "dB");
  check_object(i + 4, SERD_LITERAL, "First");
  check_object(i + 6, SERD_LITERAL, "1");
  check_object(i + 7, SERD_LITERAL, "Whole");
}

static void
nodes_are_where_they_belong(void** state)
{
  (void)state;
  open_at(path, false);
  write_nodes("urn:test:a");
  write_nodes("urn:test:b");
  read_back();
  assert_int_equal(n_triples, 16);
  check_nodes("urn:test:a", 0);
  check_nodes("urn:test:b", 8);
}

static void
appending_keeps_what_is_there(void** state)
{
  (void)state;
  open_at(path, false);
  write_nodes("urn:test:a");
  assert_true(turtle_writer_close(&writer));
  open_at(path, true);
  turtle_writer_subject(&writer, "urn:test:b");
  turtle_writer_uri(&writer, TURTLE_RDF_TYPE, EX "Thing");
  read_back();
  assert_int_equal(n_triples, 9);
  check_nodes("urn:test:a", 0);
  check_object(8, SERD_URI, EX "Thing");
}

// ---------------------------------------------------------------------------
// Faults

static void
check_fault(int error)
{
  errno = 0;
  assert_false(turtle_writer_close(&writer));
  assert_int_equal(errno, error);
}

static void
no_room_is_told(void** state)
{
  (void)state;
  for (uint32_t n = 0; n < 1000; n += 100) { // In the buffer, and beyond
    open_at("/dev/full", false);
    for (uint32_t i = 0; i < n; ++i) {
      write_nodes("urn:test:a");
    }
    check_fault(ENOSPC);
  }
  errno = 0;
  assert_false(turtle_writer_open(&writer, "/none/x.ttl", false, "", NULL, 0));
  assert_int_equal(errno, ENOENT);
}

/// IRIREF of the grammar excludes these, escaped or not
static void
what_is_no_uri_is_told(void** state)
{
  (void)state;
  static const char bad[] = " <>\"{}|^`\\\n\x01";
  for (const char* c = bad; *c; ++c) {
    open_at(path, false);
    turtle_writer_subject(&writer, "urn:test:a");
    turtle_writer_uri(&writer, EX "part", "urn:test:b%cc", *c);
    check_fault(EINVAL);
    open_at(path, false);
    turtle_writer_subject(&writer, "urn:test:b%cc", *c);
    turtle_writer_text(&writer, EX "name", "x");
    check_fault(EINVAL);
  }
}

/// serd writes them all the same, and calls back
static void
what_serd_tells_is_told(void** state)
{
  (void)state;
  open_at(path, false);
  turtle_writer_subject(&writer, "urn:test:a");
  turtle_writer_text(&writer, EX "name", "\xFF"); // Never in UTF-8
  check_fault(EINVAL);
}

static void
wrong_calls_are_told(void** state)
{
  (void)state;
  open_at(path, false); // Without a subject
  turtle_writer_text(&writer, EX "name", "x");
  check_fault(EINVAL);
  open_at(path, false); // A node without a subject
  turtle_writer_begin_node(&writer, EX "port");
  turtle_writer_text(&writer, EX "name", "x");
  turtle_writer_end_node(&writer);
  check_fault(EINVAL);
  open_at(path, false); // A subject in a node
  turtle_writer_subject(&writer, "urn:test:a");
  turtle_writer_begin_node(&writer, EX "port");
  turtle_writer_subject(&writer, "urn:test:b");
  turtle_writer_end_node(&writer);
  check_fault(EINVAL);
  open_at(path, false); // A node left open
  turtle_writer_subject(&writer, "urn:test:a");
  turtle_writer_begin_node(&writer, EX "port");
  turtle_writer_text(&writer, EX "name", "x");
  check_fault(EINVAL);
  open_at(path, false); // A node ended that is not open
  turtle_writer_subject(&writer, "urn:test:a");
  turtle_writer_text(&writer, EX "name", "x");
  turtle_writer_end_node(&writer);
  check_fault(EINVAL);
  open_at(path, false); // Nodes nested too deep
  turtle_writer_subject(&writer, "urn:test:a");
  for (uint32_t i = 0; i <= TURTLE_WRITER_MAX_DEPTH; ++i) {
    turtle_writer_begin_node(&writer, EX "port");
  }
  for (uint32_t i = 0; i < TURTLE_WRITER_MAX_DEPTH; ++i) {
    turtle_writer_end_node(&writer);
  }
  check_fault(EINVAL);
}

static int
start(void** state)
{
  (void)state;
  const int file = mkstemp(path);
  return file < 0 ? -1 : close(file);
}

static int
end(void** state)
{
  (void)state;
  return unlink(path);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(text_comes_back),
    cmocka_unit_test(uris_come_back),
    cmocka_unit_test(decimals_are_exact_and_short),
    cmocka_unit_test(numbers_have_their_types),
    cmocka_unit_test(nodes_are_where_they_belong),
    cmocka_unit_test(appending_keeps_what_is_there),
    cmocka_unit_test(no_room_is_told),
    cmocka_unit_test(what_is_no_uri_is_told),
    cmocka_unit_test(what_serd_tells_is_told),
    cmocka_unit_test(wrong_calls_are_told),
  };
  return cmocka_run_group_tests_name("turtle-writer", tests, start, end);
}
