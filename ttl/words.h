// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Values, units and choices in words, for hosts and for people.  For the build
/// only: never runs in a host.

#ifndef TTL_WORDS_H
#define TTL_WORDS_H

#include "common/core/params.h"

#include <stddef.h>
#include <stdint.h>

typedef struct {
  const char* text;    ///< Its symbol
  const char* uri;     ///< Unit of LV2, or NULL
  const char* name;    ///< NULL without a unit
  uint32_t    figures; ///< After the point, where a host shows a value
} unit_words;

/// Returns the words of a unit, never NULL
const unit_words*
words_unit(param_unit unit);

/// Writes the printf format in which a host shows a value of a range, with its
/// unit, to `text`; returns `text`
const char*
words_render(param_unit unit, float min, float max, char* text, size_t size);

/// Writes `x` to `text` as turtle_decimal() does, but a whole number without
/// its ".0"; returns `text`
const char*
words_decimal(float x, char* text, size_t size);

/// Returns the `i`th of labels separated by '|', not terminated; writes its
/// size in bytes to `length`
const char*
words_label(const char* labels, uint32_t i, int* length);

uint32_t
words_label_count(const char* labels);

#endif // TTL_WORDS_H
