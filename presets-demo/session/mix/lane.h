// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One lane of a mix: a track, a send or the bus.  It takes a stretch of
/// signal, plays it through its setup, and keeps the result, with the latency
/// taken out, in a buffer for those who come after it.
///
/// What a lane does while it plays touches no other lane, so each may run in a
/// thread of its own.

#ifndef PRESETS_DEMO_SESSION_MIX_LANE_H
#define PRESETS_DEMO_SESSION_MIX_LANE_H

#include "lane_buffer.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/setup/setup.h"
#include "presets-demo/session/file/session_file.h"
#include "presets-demo/session/measure/probe.h"
#include "presets-demo/session/measure/time_series.h"

/// Frames a lane plays at a time
#define LANE_FRAMES 8192U

typedef struct {
  const session_strip* strip;
  setup                setup;  ///< Empty without one
  audio_in*            in;     ///< Of tracks
  uint64_t             n_file; ///< Frames in it
  uint32_t             n_in;   ///< Channels
  chain*               chain;  ///< Without stages if there is no setup
  double               rate_hz;
  double               align_db; ///< Gain in front; 0 without
  float                gains[2]; ///< Behind the chain, left and right
  uint64_t             n_skip;   ///< Latency still to drop
  uint64_t             n_taken;  ///< Frames that went in
  uint64_t             n_total;  ///< Frames of the piece
  uint64_t             n_ready;  ///< Frames in the buffer when this step began
  lane_buffer          buffer;
  float*               work[2];    ///< LANE_FRAMES each
  probe*               probes;     ///< By joint of the chain
  time_series*         reductions; ///< By stage
  probe                out;        ///< Of what is in the buffer
  audio_out*           dry_file;   ///< Of what goes in; NULL if not written
  audio_out*           file;
  failure              failure;
  bool                 has_failed;
} lane;

/// Make the chain of a lane whose `strip`, `setup`, `n_in`, `n_total` are set.
/// False with `failure` if a stage cannot run.  Call from one thread.
bool
lane_start(lane* l, host* h, double rate_hz);

/// Its files not complete are removed
void
lane_clear(lane* l);

/// Tracks: play until `n` more frames are in the buffer.  Behind the end of the
/// file there is silence.
void
lane_play_track(lane* l, uint32_t n);

/// Others: play the first `n` frames in `work`
void
lane_play(lane* l, uint32_t n);

/// Whether the session or the setup asks for the gain in front
bool
lane_is_aligned(const lane* l);

/// False, and whose failure it is in front: "track 'lead': ..."
bool
lane_fail(const lane* l, failure* f);

/// Number of stages of its chain
uint32_t
lane_n_stages(const lane* l);

#endif // PRESETS_DEMO_SESSION_MIX_LANE_H
