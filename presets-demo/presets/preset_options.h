// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-presets

#ifndef PRESETS_DEMO_PRESET_OPTIONS_H
#define PRESETS_DEMO_PRESET_OPTIONS_H

#include "presets-demo/render/program/failure.h"

#include <stdint.h>

#define PROGRAM     "dustcap-presets"
#define USER_BUNDLE "dustcap-user-presets.lv2"

typedef struct {
  const char* out;
  const char* check;
  const char* factory;
  const char* bundle;
  char**      setups;
  uint32_t    n_setups;
} preset_options;

/// Exit status, or -1 to go on
int
preset_options_parse(preset_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_PRESET_OPTIONS_H
