// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// LV2 presets from setups: of each setup a bank, of each of its stages a
/// preset for every form of the plugin.  Complete: all control inputs but
/// `enabled`, which is not for a preset to switch.

#ifndef PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
#define PRESETS_DEMO_PRESETS_PRESET_TURTLE_H

#include "presets-demo/render/setup/setup.h"

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

/// What a manifest says of the banks' presets, which are in presets.ttl, as a
/// file of its own or at the end of one; false with a failure
bool
preset_manifest_write(const char*        path,
                      bool               is_appended,
                      const preset_bank* banks,
                      uint32_t           n,
                      const char*        prefix,
                      failure*           f);

/// presets.ttl; false with a failure
bool
preset_turtle_write(const char*        path,
                    const preset_bank* banks,
                    uint32_t           n,
                    const char*        prefix,
                    failure*           f);

#endif // PRESETS_DEMO_PRESETS_PRESET_TURTLE_H
