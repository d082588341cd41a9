// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Which values of a setup go into presets.
///
/// A preset is a sound, to be loaded on any track.  Values that belong to the
/// track stay out of it, so that loading one leaves them as they are: whether a
/// stage is on and how it is compared (`enabled`, `match_bypass`), and the gain
/// that aligns the recording (`gain_db` of di-cleanup).  A setup may name them
/// all the same, for the renderer.

#ifndef PRESETS_DEMO_PRESETS_PRESET_VALUES_H
#define PRESETS_DEMO_PRESETS_PRESET_VALUES_H

#include "presets-demo/render/setup/setup.h"

#include <stdio.h>

/// Returns whether presets hold the control of that symbol
bool
preset_values_hold(const part* p, const char* symbol);

/// Prints one line with the values of a setup that differ from the default and
/// stay out of its presets; nothing if there are none
void
preset_values_print_left_out(FILE* out, const char* path, const setup* s);

#endif // PRESETS_DEMO_PRESETS_PRESET_VALUES_H
