// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The state of dustcap-render while it runs

#ifndef PRESETS_DEMO_RENDER_RENDERING_H
#define PRESETS_DEMO_RENDER_RENDERING_H

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/host/catalogue.h"
#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/measure/compare.h"
#include "presets-demo/render/measure/joint_loudness.h"
#include "presets-demo/render/program/whole_file.h"
#include "presets-demo/render/setup/setup.h"
#include "presets-demo/render/take/take_look.h"
#include "render_options.h"

typedef struct {
  const render_options* options;
  catalogue             parts;
  setup                 setup;
  host*                 host;
  audio_in*             in;
  chain*                chain;
  joint_loudness*       loudness; ///< At the joints of the chain
  audio_out*            out;
  char*                 dry_path; ///< Of the dry file, or NULL
  audio_out*            dry;
  char*                 page_path; ///< Of the page, or NULL
  whole_file*           page;
  take_result           take; ///< Untouched until it was looked at
  compare_gains         gains;
} rendering;

/// Opens files, bundle and stages; returns false with a failure.  Close it
/// either way.
bool
rendering_open(rendering* r, failure* f);

/// Opens the recording again as `take` mends it; nothing to do if it does not
bool
rendering_mend(rendering* r, failure* f);

/// Closes everything; unfinished files are removed
void
rendering_close(rendering* r);

/// Opens the recording at its beginning, with stages and meters at rest
bool
rendering_open_chain(rendering* r, failure* f);

void
rendering_close_chain(rendering* r);

#endif // PRESETS_DEMO_RENDER_RENDERING_H
