// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Setups (setup_chain.h) for the parts of a bundle.

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
