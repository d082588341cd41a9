// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes LV2 presets from setups: a bank for each setup, with a preset of each
/// of its stages for every form of the plugin.  A preset holds all control
/// inputs but those that belong to the track (preset_values.h).

#ifndef PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
#define PRESETS_DEMO_PRESETS_PRESET_TURTLE_H

#include "presets-demo/render/setup/setup.h"

typedef struct {
  char* label; ///< Shown by hosts: "Heavy rhythm" for heavy-rhythm.ini
  char* slug;  ///< In URIs: the file's name, percent-encoded
  setup setup;
} preset_bank;

/// Reads a setup and names its bank; returns false with a failure
bool
preset_bank_load(preset_bank*     b,
                 const char*      path,
                 const catalogue* parts,
                 failure*         f);

void
preset_bank_clear(preset_bank* b);

/// Returns the URI of a preset: prefix, slug and what follows "urn:dustcap:" in
/// the URI of the plugin.  free() it.
char*
preset_uri(const preset_bank* b, const char* prefix, const part_form* form);

/// Writes the manifest entries of the banks' presets in presets.ttl, as a new
/// file or at the end of one; returns false with a failure
bool
preset_manifest_write(const char*        path,
                      bool               is_appended,
                      const preset_bank* banks,
                      uint32_t           n,
                      const char*        prefix,
                      failure*           f);

/// Writes presets.ttl; returns false with a failure
bool
preset_turtle_write(const char*        path,
                    const preset_bank* banks,
                    uint32_t           n,
                    const char*        prefix,
                    failure*           f);

#endif // PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
