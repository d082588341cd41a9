// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The gain that brings a whole recording to -18 dBFS RMS, as the DI clean-up
/// measures it after its filters

#ifndef PRESETS_DEMO_RENDER_MEASURE_ALIGN_H
#define PRESETS_DEMO_RENDER_MEASURE_ALIGN_H

#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/setup/setup.h"

#include <signal.h>

typedef struct align align;

/// Prepares to measure a recording at its own rate; the filters are those of
/// the setup, or the default ones if it has none.  Call from one thread.
/// Returns NULL with a failure if the file cannot be read or the bundle has no
/// DI clean-up that runs.
align*
align_new(host*            h,
          const catalogue* parts,
          const setup*     s,
          const char*      file,
          failure*         f);

void
align_free(align* a);

/// Plays the file and returns the gain in dB, or NAN with a failure, an empty
/// one if stopped.  May run in any thread.
double
align_measure_db(align* a, const volatile sig_atomic_t* stop, failure* f);

#endif // PRESETS_DEMO_RENDER_MEASURE_ALIGN_H
