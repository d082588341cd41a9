// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness in every joint of a chain by ITU-R BS.1770, measured by libebur128.
/// Mono counts as heard from two loudspeakers, so that it compares with stereo.

#ifndef PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H
#define PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H

#include "presets-demo/render/host/chain.h"

typedef struct joint_loudness joint_loudness;

/// Measures `c` from now on, as its watch; free it after the last run
joint_loudness*
joint_loudness_new(chain* c, double rate_hz);

void
joint_loudness_free(joint_loudness* l);

/// Returns the integrated loudness in LUFS; joint 0 is the input, joint i + 1
/// the output of stage i.  -INFINITY for silence, NAN if it cannot be measured
/// at this rate.
double
joint_loudness_lufs(const joint_loudness* l, uint32_t joint);

/// Returns the true peak of all channels by the same recommendation, in dBTP;
/// -INFINITY and NAN as for joint_loudness_lufs()
double
joint_loudness_true_peak_db(const joint_loudness* l, uint32_t joint);

#endif // PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H
