// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness in every joint of a chain (loudness_bank.h), and the true peak of
/// its ends by the same recommendation, measured by libebur128

#ifndef PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H
#define PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H

#include "presets-demo/render/host/chain.h"

typedef struct joint_loudness joint_loudness;

/// Measures `c` from now on, as its watch; free it after the last run.  True
/// peak, which costs as much as the loudness of all joints several times over,
/// only on request.
joint_loudness*
joint_loudness_new(chain* c, double rate_hz, bool has_true_peak);

void
joint_loudness_free(joint_loudness* l);

/// Returns the integrated loudness in LUFS; joint 0 is the input, joint i + 1
/// the output of stage i.  -INFINITY for silence.
double
joint_loudness_lufs(const joint_loudness* l, uint32_t joint);

/// Returns the true peak of all channels of the first or the last joint, in
/// dBTP; -INFINITY for silence, NAN if it was not asked for or cannot be
/// measured at this rate
double
joint_loudness_true_peak_db(const joint_loudness* l, uint32_t joint);

#endif // PRESETS_DEMO_RENDER_MEASURE_JOINT_LOUDNESS_H
