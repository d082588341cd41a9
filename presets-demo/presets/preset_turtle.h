// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// LV2 presets from setups: of each setup a bank, of each of its stages a
/// preset for every form of the plugin.  Complete: all control inputs but
/// `enabled`, which is not for a preset to switch.

#ifndef PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
#define PRESETS_DEMO_PRESETS_PRESET_TURTLE_H

#include "presets-demo/render/setup/setup.h"

#include <stdio.h>

typedef struct {
  char* label; ///< What hosts show: "Heavy rhythm" of heavy-rhythm.ini
  char* slug;  ///< In URIs: the file's name, percent-encoded
  setup setup;
} preset_bank;

/// Read a setup and name its bank; false with a failure
bool
preset_bank_load(preset_bank*     b,
                 const char*      path,
                 const catalogue* parts,
                 failure*         f);

void
preset_bank_clear(preset_bank* b);

/// URI of a preset: prefix, slug and what follows "urn:dustcap:" in the URI of
/// the plugin.  To be freed.
char*
preset_uri(const preset_bank* b, const char* prefix, const part_form* form);

/// What a manifest says of the banks' presets, which are in presets.ttl; with
/// the prefixes of Turtle on top if it is to be a whole file
void
preset_manifest_print(FILE*              out,
                      const preset_bank* banks,
                      uint32_t           n,
                      const char*        prefix,
                      bool               is_whole);

/// The whole of presets.ttl
void
preset_turtle_print(FILE*              out,
                    const preset_bank* banks,
                    uint32_t           n,
                    const char*        prefix);

#endif // PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
