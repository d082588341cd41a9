// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A copy of a stage that plays what it is given, for pictures: the same code
/// that plays the music, at 48 kHz, without a host.
///
/// Everything here runs on the worker thread of the windows, never in run() and
/// not on the user interface's thread.  Functions that play return false once
/// the window no longer wants the result: hand that up at once.

#ifndef PLUGINS_WINDOW_PICTURES_PROBE_H
#define PLUGINS_WINDOW_PICTURES_PROBE_H

#include "common/core/stage.h"

#include <stdatomic.h>

#define PROBE_RATE_HZ 48000.0

typedef struct probe probe;

/// Makes a copy with its controls at the defaults; `stop` must outlive it.
/// NULL without memory.
probe*
probe_new(const stage_ops* ops, uint32_t n_channels, const atomic_bool* stop);

void
probe_free(probe* p);

/// Sets all controls and forgets the signal: the next frame sounds as settled
void
probe_set(probe* p, const float* values);

/// Sets all controls; they glide
void
probe_glide(probe* p, const float* values);

void
probe_reset(probe* p);

uint32_t
probe_latency(const probe* p);

/// Writes the stage's meters (its `x_meters`)
void
probe_meter(const probe* p, void* meters);

/// Plays n frames of all channels; `out` may be `in`
bool
probe_play(probe* p, const float* const* in, float* const* out, uint32_t n);

/// Plays n frames of one channel into all; keeps the first of the output
bool
probe_play_one(probe* p, const float* in, float* out, uint32_t n);

/// Resets, plays a click of `gain` and writes n frames of the first channel's
/// answer; those of the latency are left out
bool
probe_click(probe* p, float gain, float* out, uint32_t n);

/// A sine into all channels
typedef struct {
  double hz;
  double peak;     ///< Linear
  double settle_s; ///< Plays this long before it counts,
  double count_s;  ///< then measures over this, rounded to whole periods
} probe_tone;

enum { PROBE_MAX_HARMONICS = 16 };

/// What came of a tone, of the first channel
typedef struct {
  double rms, peak; ///< Of everything
  /// Amplitude (peak) and phase (rad, of a sine; relative to the input delayed
  /// by the latency) of the fundamental [1] and each harmonic
  double amplitude[PROBE_MAX_HARMONICS + 1];
  double phase[PROBE_MAX_HARMONICS + 1];
} probe_answer;

/// Resets and plays a tone; measures n_harmonics (1: the fundamental alone)
bool
probe_sine(probe*            p,
           const probe_tone* tone,
           uint32_t          n_harmonics,
           probe_answer*     answer);

/// Returns the magnitude in dB (at least -200) of n frames at a frequency
double
probe_spectrum_db(const float* x, uint32_t n, double hz);

/// Resets and writes the response at each of n_hz frequencies, in dB, from a
/// click of `gain` and `frames` frames of its answer (at most 1 s)
bool
probe_response(probe*       p,
               float        gain,
               uint32_t     frames,
               const float* hz,
               float*       db,
               uint32_t     n_hz);

#endif // PLUGINS_WINDOW_PICTURES_PROBE_H
