// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-render

#ifndef PRESETS_DEMO_RENDER_RENDER_OPTIONS_H
#define PRESETS_DEMO_RENDER_RENDER_OPTIONS_H

#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/program/options.h"

#define PROGRAM "dustcap-render"

typedef struct {
  const char*   in;
  const char*   setup;
  const char*   out;
  const char*   bundle;  ///< NULL: see catalogue_folder()
  uint32_t      rate_hz; ///< 0: that of the file
  double        tail_s;
  sample_format samples;
  bool          compare; ///< Also write the dry recording, equally loud
  bool          report;  ///< Also write the page that plays
  bool          is_quiet;
} render_options;

extern const options_program render_program;

options_result
render_options_parse(render_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_RENDER_RENDER_OPTIONS_H
