// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness in every joint of a chain, as ITU-R BS.1770 has it, by libebur128.
/// Mono is taken as heard from two loudspeakers, so that it compares with
/// stereo.

#ifndef PRESETS_DEMO_EARS_H
#define PRESETS_DEMO_EARS_H

#include "presets-demo/render/host/chain.h"

typedef struct ears ears;

/// Listens to `c` from now on, as its watch; free it after the last run
ears*
ears_new(chain* c, double rate_hz);

void
ears_free(ears* e);

/// Integrated loudness in LUFS; joint 0 is the input, joint i + 1 the output of
/// stage i.  -INFINITY of silence, NAN if the rate is none to measure at.
double
ears_lufs(const ears* e, uint32_t joint);

/// Of all channels, by the same recommendation, in dBTP; like ears_lufs()
double
ears_true_peak_db(const ears* e, uint32_t joint);

#endif // PRESETS_DEMO_EARS_H
