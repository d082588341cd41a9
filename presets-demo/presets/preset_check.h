// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Checks that presets on disk still fit the plugins

#ifndef PRESETS_DEMO_PRESETS_PRESET_CHECK_H
#define PRESETS_DEMO_PRESETS_PRESET_CHECK_H

#include "presets-demo/render/host/catalogue.h"

#include <stdio.h>

typedef struct {
  uint32_t n;     ///< Presets found
  uint32_t n_bad; ///< That do not fit
} preset_counts;

/// Loads the bundle of presets in a folder, and prints to `out` each preset
/// that does not fit, and why: an unknown control, a value out of range, a
/// missing control.  Returns false with a failure if there is no such bundle.
bool
preset_check(const catalogue* parts,
             const char*      folder,
             FILE*            out,
             preset_counts*   counts,
             failure*         f);

#endif // PRESETS_DEMO_PRESETS_PRESET_CHECK_H
