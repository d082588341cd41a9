// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Finds the known word that a mistyped one probably means

#ifndef PLUGINS_TEXT_SPELLING_H
#define PLUGINS_TEXT_SPELLING_H

#include "failure.h"

#include <stdint.h>

/// Returns the number of single-letter edits (insert, delete, replace, swap
/// neighbours) between two words, regardless of letter case: optimal string
/// alignment distance.  Words of more than 63 bytes are compared by their first
/// 63.
uint32_t
spelling_distance(const char* a, const char* b);

/// Returns the one of `n` words with the least distance (the first of equals),
/// where an omitted unit counts as one edit; NULL if it is too far off to help:
/// more than 2 edits, and more than a third of the longer word
const char*
spelling_nearest(const char* word, const char* const* known, uint32_t n);

/// Fails, with `kind` "control" and `where` " of the delay", with "unknown
/// control 'tiem_ms' of the delay; did you mean 'time_ms'?", or with all known
/// words if none is near.  Always returns false.
bool
spelling_fail(const char*        kind,
              const char*        word,
              const char*        where,
              const char* const* known,
              uint32_t           n,
              failure*           f);

#endif // PLUGINS_TEXT_SPELLING_H
