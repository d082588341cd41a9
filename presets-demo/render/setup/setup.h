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

#ifndef PRESETS_DEMO_RENDER_SETUP_SETUP_H
#define PRESETS_DEMO_RENDER_SETUP_SETUP_H

#include "presets-demo/render/host/catalogue.h"

/// Stages in the order of the signal, every control with its value
typedef struct {
  part_settings* stages;
  uint32_t       n_stages;
  bool           align; ///< Bring the recording to -18 dBFS RMS first (align.h)
  char**         files; ///< All that it was read from
  uint32_t       n_files;
} setup;

/// Reads a setup for the parts in `c`, which must outlive it.  Returns false at
/// the first fault, with a failure "file:line: what was found; what was
/// expected"; then `s` is empty.
bool
setup_load(setup* s, const char* path, const catalogue* c, failure* f);

void
setup_clear(setup* s);

#endif // PRESETS_DEMO_RENDER_SETUP_SETUP_H
