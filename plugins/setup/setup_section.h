// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One stage's section of a setup as text, for the clipboard: values that are
/// written and read again have the same bits.
///
/// Values of the track (setup_part_is_of_track()) stay out: they are neither
/// written nor taken.

#ifndef PLUGINS_SETUP_SETUP_SECTION_H
#define PLUGINS_SETUP_SETUP_SECTION_H

#include "setup_part.h"

#include <stddef.h>

/// Writes "[stem]" and a line for each control, with a 0 at the end.  Returns
/// the length, 0 if there is no room.
size_t
setup_section_write(const setup_part* p,
                    const float*      values,
                    char*             text,
                    size_t            room);

/// What became of a text
typedef struct {
  bool     is_found; ///< It has a section of that stage
  uint32_t n_faults; ///< Lines in it that cannot be used
  failure  fault;    ///< The first of them: "name:line: ..."
} setup_section_result;

/// Takes a stage's section out of any text: a setup file, or a letter with a
/// section in it.  A control that is not mentioned gets its default, as in a
/// file; behind a `from`, which the text does not hold, it keeps its value.
/// What cannot be used is left out, with its value as it was.  `name` stands
/// for the text in messages.
///
/// Returns false with `fault` without memory or if the text cannot be read;
/// then `values` are as before.
bool
setup_section_read(const setup_part*     p,
                   const char*           name,
                   const char*           text,
                   size_t                length,
                   float*                values,
                   setup_section_result* result);

#endif // PLUGINS_SETUP_SETUP_SECTION_H
