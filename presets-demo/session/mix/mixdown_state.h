// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Shared by preparation (mixdown.c, mixdown_takes.c) and playing
/// (mixdown_play.c); private to them

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H

#include "mixdown.h"
#include "worker_pool.h"

struct mixdown {
  const session*               session;
  const catalogue*             parts;
  host*                        host;
  whole_folder*                folder;
  lane*                        lanes;
  uint64_t*                    n_over;             ///< By lane
  uint32_t                     n_lanes, n_sources; ///< All; tracks and sends
  uint32_t                     n_tracks;
  take_look**                  looks; ///< By track, while it is looked at
  double                       rate_hz;
  uint64_t                     n_total;
  worker_pool*                 workers;
  spectrum_tools*              spectra; ///< For all lanes and the image
  stereo_image                 image;
  uint64_t                     n_imaged; ///< Frames of the mix seen
  float                        end_peak;
  const volatile sig_atomic_t* stop;
};

/// Opens the tracks at the rate of the session; without one, at the highest of
/// all.  Tracks are read as their `take` mends them.
bool
mixdown_open_tracks(mixdown* m, failure* f);

/// Looks at the recordings of all tracks, which are open, and opens them again
/// if something is taken out of one (mixdown_takes.c)
bool
mixdown_look_at_takes(mixdown* m, failure* f);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
