// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// All that dustcap-render holds while it runs

#ifndef PRESETS_DEMO_RENDER_RENDERING_H
#define PRESETS_DEMO_RENDER_RENDERING_H

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/host/catalogue.h"
#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/measure/compare.h"
#include "presets-demo/render/measure/joint_loudness.h"
#include "presets-demo/render/setup/setup.h"
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
  char*                 dry_path; ///< To compare with, or NULL
  audio_out*            dry;
  double                align_db; ///< In front of the chain
  compare_gains         gains;
} rendering;

/// Files, bundle and stages; false with a failure.  Close it either way.
bool
rendering_open(rendering* r, failure* f);

/// Unfinished files do not stay
void
rendering_close(rendering* r);

/// The recording from its beginning, the stages and meters at rest
bool
rendering_open_chain(rendering* r, failure* f);

void
rendering_close_chain(rendering* r);

#endif // PRESETS_DEMO_RENDER_RENDERING_H
