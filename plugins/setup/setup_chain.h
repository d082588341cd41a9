// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Setups: the settings of a chain of stages, in a small INI file.
///
///   ; Lead: the rhythm sound, further forward
///   from = rhythm.ini
///
///   [tube-stage]
///   drive_db = base + 4
///
///   [thickening-echo]
///   time_ms = base * 1.3
///
/// One section per stage, in the order of the signal; a section may be empty.
/// `symbol = value` as in setup_value.h; a control that is not mentioned has
/// its default.  A line that starts with ';' or '#' is a comment, and so is the
/// rest of a line from " ;" on.  A value in quotes may hold anything; write a
/// quote in it twice: from = "7"" ; old.ini".
///
/// `align = yes`, before the first section, brings the whole recording to the
/// level that the stages expect, by one gain before all stages.
///
/// `from`, before the first section, names another setup, relative to the
/// folder of this file.  All its stages and values are taken over; sections of
/// this file change them.  Stages of the base keep their order; a new one
/// follows the stage whose section stands above its own (or comes first if
/// there is none).  `base` in a value is the value of the base setup, or the
/// control's default if the stage is new.

#ifndef PLUGINS_SETUP_SETUP_CHAIN_H
#define PLUGINS_SETUP_SETUP_CHAIN_H

#include "setup_part.h"

typedef struct {
  uint32_t part;   ///< Its place in the setup_parts
  float*   values; ///< Of all its controls
  float*   bases;  ///< What `base` stands for, NULL in a file without `from`
} setup_stage;

/// Stages in the order of the signal, every control with its value
typedef struct {
  setup_stage* stages;
  uint32_t     n_stages;
  bool         align;
  char**       files; ///< All that it was read from, the file itself first
  uint32_t     n_files;
} setup_chain;

/// Reads a setup.  Returns false at the first fault, with a failure "file:line:
/// what was found; what was expected"; then `s` is empty.
bool
setup_chain_load(setup_chain*       s,
                 const char*        path,
                 const setup_parts* parts,
                 failure*           f);

/// Returns the stage of a part, NULL if there is none
const setup_stage*
setup_chain_stage(const setup_chain* s, uint32_t part);

void
setup_chain_clear(setup_chain* s);

#endif // PLUGINS_SETUP_SETUP_CHAIN_H
