// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The known word that a mistyped one was probably meant to be

#ifndef PRESETS_DEMO_RENDER_PROGRAM_SPELLING_H
#define PRESETS_DEMO_RENDER_PROGRAM_SPELLING_H

#include "failure.h"

#include <stdint.h>

/// Number of single-letter edits (insert, delete, replace, swap neighbours)
/// between two words, letter case aside: optimal string alignment distance.
/// Words of more than 63 bytes are compared by their first 63.
uint32_t
spelling_distance(const char* a, const char* b);

/// Of `n` words the one with the least distance (the first of equals), a unit
/// that is left out counting as one edit; NULL if it is so far off that showing
/// it would not help: more than 2 edits, and more than a third of the longer
/// word
const char*
spelling_nearest(const char* word, const char* const* known, uint32_t n);

/// Fill in, with `kind` "control" and `where` " of the delay": "unknown control
/// 'tiem_ms' of the delay; did you mean 'time_ms'?", or all known ones if none
/// is near.  Always false.
bool
spelling_fail(const char*        kind,
              const char*        word,
              const char*        where,
              const char* const* known,
              uint32_t           n,
              failure*           f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_SPELLING_H
