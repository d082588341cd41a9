// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Shared by preparation (mixdown.c) and playing (mixdown_play.c); private to
/// them

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H

#include "mixdown.h"
#include "worker_pool.h"

#include "presets-demo/render/measure/align.h"

struct mixdown {
  const session*               session;
  const catalogue*             parts;
  host*                        host;
  whole_folder*                folder;
  lane*                        lanes;
  uint64_t*                    n_over;             ///< By lane
  uint32_t                     n_lanes, n_sources; ///< All; tracks and sends
  uint32_t                     n_tracks;
  align**                      aligns; ///< By track; NULL without
  double                       rate_hz;
  uint64_t                     n_total;
  worker_pool*                 workers;
  stereo_image                 image;
  uint64_t                     n_imaged; ///< Frames of the mix seen
  float                        end_peak;
  const volatile sig_atomic_t* stop;
};

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
