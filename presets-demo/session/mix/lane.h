// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One lane of a mix: a track, a send or the bus.  It takes a stretch of
/// signal, plays it through its setup, and keeps the result, with the latency
/// taken out, in a buffer for later lanes.  A track may be taken from a file of
/// an earlier run instead, to the same bits.
///
/// A playing lane touches no other lane, so each may run in its own thread.

#ifndef PRESETS_DEMO_SESSION_MIX_LANE_H
#define PRESETS_DEMO_SESSION_MIX_LANE_H

#include "lane_buffer.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/setup/setup.h"
#include "presets-demo/render/take/take_look.h"
#include "presets-demo/session/cache/track_file.h"
#include "presets-demo/session/file/session_file.h"
#include "presets-demo/session/listen/listen_clip.h"
#include "presets-demo/session/measure/probe.h"
#include "presets-demo/session/measure/time_series.h"

/// Frames that a lane plays at a time
#define LANE_FRAMES 8192U

/// The joints of which a lane keeps an excerpt
typedef enum {
  LANE_CLIPS_NONE,
  LANE_CLIPS_ENDS, ///< The first and the last
  LANE_CLIPS_ALL,
} lane_clips;

/// What is known of a lane once it has been played
typedef struct {
  signal_figures* joints; ///< Of the chain, one more than stages
  chain_stats*    stages;
  uint32_t        latency_frames;
  uint64_t        n_played; ///< Frames in which the stages took their time
  signal_figures  out;
} lane_figures;

typedef struct {
  const session_strip* strip;
  setup                setup;  ///< Empty without one
  audio_in*            in;     ///< Tracks only
  uint64_t             n_file; ///< Frames in it
  uint32_t             n_in;   ///< Channels
  chain*               chain;  ///< Without stages if there is no setup; NULL
                               ///< if it is taken from a file
  track_file_in*  taken;       ///< That file, or NULL
  track_file_out* keeping;     ///< The file that it gets; NULL without
  uint32_t        n_out;       ///< Channels behind the chain
  double          rate_hz;
  take_result     take;     ///< Tracks only; zero for the others
  float           gains[2]; ///< After the chain, left and right
  uint64_t        n_skip;   ///< Latency still to drop
  uint64_t        n_taken;  ///< Frames that went in
  uint64_t        n_total;  ///< Frames of the piece
  uint64_t        n_ready;  ///< Frames in the buffer when this step began
  lane_buffer     buffer;
  float*          work[2];    ///< LANE_FRAMES each
  probe_bank*     bank;       ///< Of the joints of the chain
  time_series*    reductions; ///< By stage
  lane_clips      has_clips;
  listen_clip*    clips;       ///< By joint; those not kept are empty
  listen_clip     dry_clip;    ///< Of the recording, where the mix is kept
  bool            is_left_out; ///< From what is kept, for want of room
  level_meter     out_level;   ///< Of the signal in the buffer
  probe_bank*     out_bank;
  probe           out;      ///< By both; the spectrum for the bus only
  lane_figures    figures;  ///< By lane_end()
  audio_out*      dry_file; ///< Of the input; NULL if not written
  audio_out*      file;
  failure         failure;
  bool            has_failed;
  failure         take_failure; ///< Why the file of an earlier run is no
                                ///< good
  bool    is_kept;              ///< For later runs
  failure keep_failure;         ///< Why it is not
} lane;

/// Makes the chain of a lane whose `strip`, `setup`, `n_in`, `n_total` are set,
/// unless it is taken from a file; `spectra` must outlive it.  Returns false
/// with `failure` if a stage cannot run.  Call from one thread.
bool
lane_start(lane* l, host* h, double rate_hz, spectrum_tools* spectra);

/// Frees a lane; removes its unfinished files
void
lane_clear(lane* l);

/// Plays a track until `n` more frames are in the buffer.  Silence follows the
/// end of the file.
void
lane_play_track(lane* l, uint32_t n);

/// Plays another lane: the first `n` frames in `work`
void
lane_play(lane* l, uint32_t n);

/// Frees what a file has said that is not used
void
lane_forget_facts(lane* l);

/// Takes the figures, once it has been played
void
lane_end(lane* l);

/// Returns true if the session or the setup asks for alignment
bool
lane_is_aligned(const lane* l);

/// Returns false, with the lane's name before its failure: "track 'lead': ..."
bool
lane_fail(const lane* l, failure* f);

/// Returns the number of stages of its chain
uint32_t
lane_n_stages(const lane* l);

#endif // PRESETS_DEMO_SESSION_MIX_LANE_H
