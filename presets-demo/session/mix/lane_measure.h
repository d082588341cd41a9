// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a lane measures while it plays; private to lane.c

#ifndef PRESETS_DEMO_SESSION_MIX_LANE_MEASURE_H
#define PRESETS_DEMO_SESSION_MIX_LANE_MEASURE_H

#include "lane.h"

/// Makes what measures the joints of the chain, and begins to
void
lane_measure_chain(lane* l, spectrum_tools* spectra);

/// Makes what measures the signal in the buffer
void
lane_measure_out(lane* l, spectrum_tools* spectra);

/// Frees all that was measured
void
lane_measure_clear(lane* l);

#endif // PRESETS_DEMO_SESSION_MIX_LANE_MEASURE_H
