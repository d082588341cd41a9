// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A headless LV2 host: what plugins are offered, and one running plugin.
///
/// Features offered: urid:map and urid:unmap, buf-size:boundedBlockLength with
/// the options it wants.  A plugin that requires anything else is refused.
///
/// Instances are made and freed by one thread (lilv); once made, each may run
/// in a thread of its own.

#ifndef PRESETS_DEMO_RENDER_HOST_HOST_H
#define PRESETS_DEMO_RENDER_HOST_HOST_H

#include "catalogue.h"

/// Frames in one run() at most
#define HOST_BLOCK_FRAMES 512U

typedef struct host host;

/// For plugins of `world`, which must outlive it; never NULL
host*
host_new(LilvWorld* world);

/// After all its instances
void
host_free(host* h);

typedef struct instance instance;

/// Instantiate at a rate, controls at their defaults; NULL if it cannot be
instance*
instance_new(host* h, const part_form* form, double rate_hz, failure* f);

void
instance_free(instance* i);

/// Set a control; false if there is none of that symbol
bool
instance_set(instance* i, const char* symbol, float value);

/// Connect as many buffers of HOST_BLOCK_FRAMES as the form has audio ports
void
instance_connect(instance* i, float* const* in, float* const* out);

/// Activate, all ports being connected, and let control outputs settle
void
instance_start(instance* i);

/// Up to HOST_BLOCK_FRAMES, 0 included
void
instance_run(instance* i, uint32_t n);

/// As reported after the last run; 0 if it reports none
uint32_t
instance_latency_frames(const instance* i);

/// Where a control output stands after each run; NULL if there is none of that
/// symbol
const float*
instance_meter(const instance* i, const char* symbol);

#endif // PRESETS_DEMO_RENDER_HOST_HOST_H
