// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Where a stage's section stands in the text of a setup, for setup_save.c

#ifndef PLUGINS_SETUP_SETUP_PLACES_H
#define PLUGINS_SETUP_SETUP_PLACES_H

#include "setup_part.h"

#include <stddef.h>

typedef struct {
  uint32_t  heading;  ///< Line of our heading, from 1; 0: there is none
  uint32_t  last;     ///< Last line with a value in our section, or its heading
  uint32_t  later;    ///< Heading of the first stage that comes later, or 0
  uint32_t* lines;    ///< By control: line of its value, or 0
  bool      has_from; ///< The file has a base
} setup_places;

/// Finds them in a text that setup_chain_load() could read.  False with a
/// failure.
bool
setup_places_find(setup_places*      s,
                  const char*        path,
                  const char*        text,
                  size_t             length,
                  const setup_parts* parts,
                  uint32_t           part,
                  failure*           f);

void
setup_places_clear(setup_places* s);

#endif // PLUGINS_SETUP_SETUP_PLACES_H
