// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How values, units and choices are written for hosts and for people.  For the
/// build only: may use the heap, never runs in a host.

#ifndef TTL_WORDS_H
#define TTL_WORDS_H

#include "common/core/params.h"

#include <stddef.h>
#include <stdint.h>

typedef struct {
  const char* text;   ///< In the manual, and the symbol of a unit of our own
  const char* uri;    ///< Of LV2's units, or NULL
  const char* name;   ///< Of a unit that LV2 lacks, or NULL
  const char* render; ///< And how a host prints a value in it
} unit_words;

/// Never NULL
const unit_words*
words_unit(param_unit unit);

/// As turtle_decimal(), without a point where nothing is behind it, in `text`
const char*
words_decimal(float x, char* text, size_t size);

/// The `i`th of labels separated by '|', not terminated; its bytes in `length`
const char*
words_label(const char* labels, uint32_t i, int* length);

uint32_t
words_label_count(const char* labels);

#endif // TTL_WORDS_H
