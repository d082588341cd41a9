// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The gain that brings a recording to -18 dBFS RMS, as the DI clean-up
/// measures it after its filters

#ifndef PRESETS_DEMO_RENDER_MEASURE_ALIGN_H
#define PRESETS_DEMO_RENDER_MEASURE_ALIGN_H

#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/setup/setup.h"

/// The meter's limit, either way: a recording beyond it is measured again with
/// this gain in front
#define ALIGN_LIMIT_DB 24.0

/// Makes a DI clean-up with the filters of the setup's, or the default ones if
/// it has none.  Call from one thread.  Returns NULL with a failure if the
/// bundle has none that runs.
chain*
align_new(host*            h,
          const catalogue* parts,
          const setup*     s,
          uint32_t         n_channels,
          double           rate_hz,
          failure*         f);

/// Returns the gain for what it has played, within ALIGN_LIMIT_DB; 0 without
/// playing
double
align_db(const chain* c);

/// Returns the mains frequency that the setup's DI clean-up removes, or 0
double
align_mains_hz(const catalogue* parts, const setup* s);

#endif // PRESETS_DEMO_RENDER_MEASURE_ALIGN_H
