// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plays a sound file through a chain into another, in step with it

#ifndef PRESETS_DEMO_RENDER_PLAY_H
#define PRESETS_DEMO_RENDER_PLAY_H

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/program/progress.h"

#include <signal.h>

typedef struct {
  audio_in*                    in;
  chain*                       chain;
  audio_out*                   out;      ///< NULL to measure only
  float                        gain;     ///< Before the chain
  float                        out_gain; ///< After the chain and its meters
  uint64_t                     n_tail;   ///< Frames to play after the input
  progress*                    bar;
  const volatile sig_atomic_t* stop; ///< Give up when it is not 0
} play;

typedef struct {
  uint64_t n_in, n_out; ///< Frames
  double   end_peak_db; ///< Peak of the last 10 ms: what the end cuts off
} play_result;

/// Plays the input to its end, then the tail.  The output is as long as both,
/// without the latency of the chain.  Returns false at the first failure, an
/// empty one if stopped.
bool
play_all(const play* p, play_result* result, failure* f);

#endif // PRESETS_DEMO_RENDER_PLAY_H
