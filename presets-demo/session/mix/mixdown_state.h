// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Shared by preparation (mixdown.c, mixdown_takes.c, mixdown_listen.c),
/// playing (mixdown_play.c) and the files of tracks (mixdown_cache.c); private
/// to them

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H

#include "mixdown.h"
#include "presets-demo/session/listen/listen_choice.h"
#include "worker_pool.h"

struct mixdown {
  const session*               session;
  const catalogue*             parts;
  host*                        host;
  whole_folder*                folder;
  const char*                  cache;
  const bool*                  chosen; ///< By track; NULL: all, and the mix
  bool                         is_assembled;
  lane*                        lanes;
  uint64_t*                    n_over;             ///< By lane
  uint32_t                     n_lanes, n_sources; ///< All; tracks and sends
  uint32_t                     n_tracks;
  take_look**                  looks;      ///< By track, while it is looked at
  listen_levels*               levels;     ///< By track, until it is played
  digest_value*                recordings; ///< By track; with a cache only
  digest_value*                keys;
  uint64_t                     n_kept; ///< Frames of a track's file
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

/// Returns whether a track is rendered at all
bool
mixdown_is_chosen(const mixdown* m, uint32_t track);

/// Returns false with the failure of the first lane that has one
bool
mixdown_check_lanes(const mixdown* m, failure* f);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_STATE_H
