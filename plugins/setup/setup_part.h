// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stages that a setup may name, wherever they are known from: the Turtle
/// of a bundle, or the tables that it was written from.

#ifndef PLUGINS_SETUP_SETUP_PART_H
#define PLUGINS_SETUP_SETUP_PART_H

#include "control_input.h"

#include "plugins/text/failure.h"

typedef struct {
  const char*          stem; ///< Such as "tube-stage"
  const control_input* controls;
  uint32_t             n_controls;
} setup_part;

typedef struct {
  const setup_part* parts;
  uint32_t          n;
} setup_parts;

/// Returns the place of a part, or -1
int
setup_parts_find(const setup_parts* p, const char* stem);

/// Returns the place of a control, or -1
int
setup_part_control(const setup_part* p, const char* symbol);

/// Reports an unknown name as spelling_fail() does; always returns false
bool
setup_parts_unknown(const setup_parts* p, const char* stem, failure* f);

bool
setup_part_unknown(const setup_part* p, const char* symbol, failure* f);

/// Returns whether a value belongs to the track and not to its sound: whether a
/// stage is on and how it is compared, and the gain that aligns the recording.
/// Presets leave such values as they are, and so do copies of a stage.
bool
setup_part_is_of_track(const char* stem, const char* symbol);

#endif // PLUGINS_SETUP_SETUP_PART_H
