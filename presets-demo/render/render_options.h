// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-render

#ifndef PRESETS_DEMO_RENDER_OPTIONS_H
#define PRESETS_DEMO_RENDER_OPTIONS_H

#include "presets-demo/render/audio/audio_out.h"

#include <stdbool.h>

typedef struct {
  const char*   in;
  const char*   setup;
  const char*   out;
  const char*   bundle;  ///< NULL: wherever it is
  double        rate_hz; ///< 0: that of the file
  double        tail_s;
  sample_format samples;
  bool          compare; ///< Write the dry recording as well, equally loud
  bool          is_quiet;
} render_options;

typedef enum {
  RENDER_GO,
  RENDER_DONE,  ///< Help or version was asked for, and printed
  RENDER_WRONG, ///< Not a command line; the failure says why
} render_parse;

render_parse
render_options_parse(render_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_RENDER_OPTIONS_H
