// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-presets

#ifndef PRESETS_DEMO_PRESETS_PRESET_OPTIONS_H
#define PRESETS_DEMO_PRESETS_PRESET_OPTIONS_H

#include "presets-demo/render/program/options.h"

#define PROGRAM     "dustcap-presets"
#define USER_BUNDLE "dustcap-user-presets.lv2"

typedef struct {
  const char*   out;
  const char*   check;
  const char*   factory;
  const char*   bundle; ///< NULL: see catalogue_folder()
  options_words setups;
} preset_options;

extern const options_program presets_program;

options_result
preset_options_parse(preset_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_PRESETS_PRESET_OPTIONS_H
