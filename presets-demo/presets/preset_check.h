// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Whether presets on disk still fit the plugins

#ifndef PRESETS_DEMO_PRESETS_PRESET_CHECK_H
#define PRESETS_DEMO_PRESETS_PRESET_CHECK_H

#include "presets-demo/render/host/catalogue.h"

#include <stdio.h>

typedef struct {
  uint32_t n;     ///< Presets found
  uint32_t n_bad; ///< That do not fit
} preset_counts;

/// Load the bundle of presets in a folder, and say on `out` of each preset that
/// does not fit which it is and why: a control that there is not, a value out
/// of range, a control that is missing.  False with a failure if there is no
/// such bundle.
bool
preset_check(const catalogue* parts,
             const char*      folder,
             FILE*            out,
             preset_counts*   counts,
             failure*         f);

#endif // PRESETS_DEMO_PRESETS_PRESET_CHECK_H
