// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Controls of a stage as setups name them: what each takes.

#ifndef PLUGINS_SETUP_CONTROL_INPUT_H
#define PLUGINS_SETUP_CONTROL_INPUT_H

#include <stdbool.h>
#include <stdint.h>

typedef enum {
  CONTROL_NUMBER,
  CONTROL_TOGGLE, ///< 0 or 1
  CONTROL_CHOICE, ///< One of `choices`
} control_kind;

typedef struct {
  char* label;
  float value;
} control_choice;

typedef struct {
  char*           symbol;
  char*           unit;    ///< As written after a number ("dB"), "" without
  control_choice* choices; ///< In order of value
  uint32_t        n_choices;
  uint32_t        index; ///< Port index
  control_kind    kind;
  float           min, def, max; ///< Finite; all finite floats without a range
  bool            is_integer;
} control_input;

#endif // PLUGINS_SETUP_CONTROL_INPUT_H
