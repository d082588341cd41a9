// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Values that may follow the `=` of a setup:
///
///   number    drive_db = 18        time_ms = 34 ms      (the unit may be left
///                                                        out)
///   switch    enabled = off        on, off, yes, no, 1, 0
///   choice    cone = 12 inch       one of its labels, letter case aside
///   relative  drive_db = base + 2  base, base + x, base - x, base * x and
///                                  base / x; of switches and choices only
///                                  `base` itself
///
/// Numbers are decimal with a point.

#ifndef PLUGINS_SETUP_SETUP_VALUE_H
#define PLUGINS_SETUP_SETUP_VALUE_H

#include "control_input.h"

#include "plugins/text/failure.h"

/// Reads the value of a control.  `base` is the value that it may refer to, or
/// NULL if there is none.  Returns false with "symbol = text: what was found;
/// what was expected" if it is not a value in range.
bool
setup_value_read(const control_input* c,
                 const char*          text,
                 const float*         base,
                 float*               value,
                 failure*             f);

#define SETUP_VALUE_TEXT 128

/// Writes a value as setup_value_read() reads it again, to the same bits: in as
/// few digits as that takes, without a unit
void
setup_value_write(const control_input* c,
                  float                value,
                  char                 text[SETUP_VALUE_TEXT]);

/// Returns whether a value refers to the base
bool
setup_value_is_relative(const char* text);

/// Writes a value relative to a base, to the same bits: a number by the
/// operation that `like` has ("base * 1.3"), + if it has none; a switch or
/// choice as `base` where it is the same, else as it is
void
setup_value_write_relative(const control_input* c,
                           float                value,
                           float                base,
                           const char*          like,
                           char                 text[SETUP_VALUE_TEXT]);

#endif // PLUGINS_SETUP_SETUP_VALUE_H
