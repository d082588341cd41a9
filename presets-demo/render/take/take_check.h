// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Looks at a recording, block by block, for what spoils a take.  Fixed memory;
/// any number of frames.
///
/// Levels are gated RMS in dBFS (common/level/gated_level.h) without DC: the
/// mean of each 100 ms does not count.

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_CHECK_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_CHECK_H

#include "presets-demo/render/audio/audio_mend.h"
#include "take_hum.h"
#include "take_runs.h"

/// A channel at least this much below the other one holds crosstalk and noise,
/// no playing: inputs beside each other are typically 80 dB apart (common
/// practice)
#define TAKE_SILENT_CHANNEL_DB 50.0

/// DC that alignment leaves below -60 dBFS does not count: what converters have
/// (common practice).  Without playing the same level counts as it is.
#define TAKE_DC_BELOW_PLAYING_DB 42.0
#define TAKE_DC_DBFS             (-60.0)
/// Half a step of 16 bits, from export without dither
#define TAKE_DC_LEAST_DBFS (-90.0)

/// Hum further below the playing is not said.  A quiet take has all its noise
/// at about -56 dB; 10 dB more are heard between the notes of a driven setup,
/// which lifts pauses by 14 to 24 dB.
#define TAKE_HUM_BELOW_PLAYING_DB 46.0

/// Steady sound below this is no playing
#define TAKE_STEADY_DBFS (-50.0)

/// Playing below this is out of reach for the 24 dB of DI clean-up's gain
#define TAKE_QUIET_DBFS (-42.0)

/// 12 dB above the level that the stages expect
#define TAKE_HOT_DBFS (-6.0)

typedef struct take_check take_check;

typedef struct {
  uint32_t   n_channels;
  double     length_s;
  audio_mend mend;     ///< What is to be taken out
  double     dc[2];    ///< Of the channels from which it is taken out, else 0
  double     level_db; ///< Of the channels that are heard; -INFINITY below the
                       ///< gate, NAN for less than a window of 400 ms
  double    peak_db;
  bool      has_playing;
  bool      is_steady;
  double    clipped; ///< Share of frames, 0 to 1, in the worst channel
  uint32_t  clipped_channel;
  double    clipped_s; ///< First place
  double    rail_db;   ///< Level of the flat tops
  hum_found hum;
  uint32_t  n_dropouts; ///< In the worst channel
  double    dropouts_s; ///< Together
  double    dropout_s;  ///< First place
} take_figures;

take_check*
take_check_new(double rate_hz, uint32_t n_channels);

void
take_check_free(take_check* c);

/// Takes finite samples
void
take_check_add(take_check* c, const float* const* x, uint32_t n);

/// Returns what has been found so far
take_figures
take_check_figures(const take_check* c);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_CHECK_H
