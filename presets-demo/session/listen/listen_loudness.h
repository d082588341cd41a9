// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness and true peak of an excerpt, by libebur128

#ifndef PRESETS_DEMO_SESSION_LISTEN_LISTEN_LOUDNESS_H
#define PRESETS_DEMO_SESSION_LISTEN_LISTEN_LOUDNESS_H

#include "listen_clip.h"

typedef struct {
  double lufs;         ///< Integrated, ITU-R BS.1770; mono as heard from two
                       ///< loudspeakers
  double true_peak_db; ///< dBTP of the highest channel
} listen_loudness;

/// Measures a clip; -INFINITY for silence, NAN if it cannot be measured
listen_loudness
listen_loudness_of(const listen_clip* c, double rate_hz);

#endif // PRESETS_DEMO_SESSION_LISTEN_LISTEN_LOUDNESS_H
