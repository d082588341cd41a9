// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Turtle through serd, which quotes strings, shortens URIs and lays out nodes.
/// A file is a row of subjects, each with its properties; the object of a
/// property may be a node without a name, with properties of its own:
///
///   turtle_writer_subject(w, "urn:example:amp");
///   turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_CORE__Plugin);
///   turtle_writer_begin_node(w, LV2_CORE__port);
///   turtle_writer_integer(w, LV2_CORE__index, 0);
///   turtle_writer_end_node(w);
///
/// Properties and URIs are given in full and written with the prefixes of the
/// file; a URI may also be relative to the file ("presets.ttl").  Text is
/// UTF-8.  The first error is kept and reported by turtle_writer_close().
///
/// For command-line programs: uses the heap, never runs in a host.

#ifndef TTL_WRITER_TURTLE_WRITER_H
#define TTL_WRITER_TURTLE_WRITER_H

#include <serd/serd.h>

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

// LV2's headers define only its own vocabularies
#define TURTLE_RDF      "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
#define TURTLE_RDFS     "http://www.w3.org/2000/01/rdf-schema#"
#define TURTLE_RDF_TYPE TURTLE_RDF "type"

enum {
  TURTLE_WRITER_MAX_DEPTH = 3,  ///< Nodes without a name in each other
  TURTLE_DECIMAL_SIZE     = 100 ///< Enough for any float
};

typedef struct {
  const char* name; ///< "lv2"
  const char* uri;  ///< "http://lv2plug.in/ns/lv2core#"
} turtle_prefix;

/// Zero it, then open.  serd points to it: do not move it while open.
typedef struct {
  FILE*       file;
  SerdEnv*    env;
  SerdWriter* serd;
  SerdNode    nodes[TURTLE_WRITER_MAX_DEPTH + 1]; ///< The subject, nodes in it
  uint32_t    depth;                              ///< Open nodes
  uint32_t    n_named; ///< Nodes without a name so far
  int         error;   ///< The first errno, or 0
} turtle_writer;

/// Makes a file, or appends to one, and writes the comment (one line) and the
/// prefixes; false with errno on failure, then there is nothing to close
bool
turtle_writer_open(turtle_writer*       w,
                   const char*          path,
                   bool                 is_appended,
                   const char*          comment,
                   const turtle_prefix* prefixes,
                   uint32_t             n_prefixes);

/// Closes the file; false with errno if anything could not be written: EINVAL
/// after a bad URI (RDF 1.1 Turtle, IRIREF) or a call out of order
bool
turtle_writer_close(turtle_writer* w);

/// Begins the subject of the properties that follow; ends the one before
__attribute__((format(printf, 2, 3))) void
turtle_writer_subject(turtle_writer* w, const char* format, ...);

__attribute__((format(printf, 3, 4))) void
turtle_writer_uri(turtle_writer* w,
                  const char*    property,
                  const char*    format,
                  ...);

__attribute__((format(printf, 3, 4))) void
turtle_writer_text(turtle_writer* w,
                   const char*    property,
                   const char*    format,
                   ...);

void
turtle_writer_integer(turtle_writer* w, const char* property, int64_t value);

/// Writes `value` as turtle_decimal() does
void
turtle_writer_decimal(turtle_writer* w, const char* property, float value);

/// Begins a node without a name, the subject of the properties that follow
void
turtle_writer_begin_node(turtle_writer* w, const char* property);

void
turtle_writer_end_node(turtle_writer* w);

/// Writes the decimal with a point, no exponent and the fewest digits after the
/// point that reads back as the same finite float; returns `text`.  serd's own
/// has at most 19 digits after the point.
const char*
turtle_decimal(float value, char text[TURTLE_DECIMAL_SIZE]);

#endif // TTL_WRITER_TURTLE_WRITER_H
