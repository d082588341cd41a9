// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A headless LV2 host: the features offered to plugins, and one running
/// plugin.
///
/// It offers urid:map and urid:unmap, and buf-size:boundedBlockLength with its
/// options.  A plugin that requires anything else is refused.
///
/// Instances are made and freed by one thread (lilv); once made, each may run
/// in a thread of its own.

#ifndef PRESETS_DEMO_RENDER_HOST_HOST_H
#define PRESETS_DEMO_RENDER_HOST_HOST_H

#include "catalogue.h"

/// Most frames in one run()
#define HOST_BLOCK_FRAMES 512U

typedef struct host host;

/// Makes a host for plugins of `world`, which must outlive it; never returns
/// NULL
host*
host_new(LilvWorld* world);

/// Frees a host; free all its instances first
void
host_free(host* h);

typedef struct instance instance;

/// Instantiates a plugin, its controls at their defaults; returns NULL with a
/// failure if that is impossible
instance*
instance_new(host* h, const part_form* form, double rate_hz, failure* f);

void
instance_free(instance* i);

/// Sets a control; returns false if none has that symbol
bool
instance_set(instance* i, const char* symbol, float value);

/// Connects as many buffers of HOST_BLOCK_FRAMES as the form has audio ports
void
instance_connect(instance* i, float* const* in, float* const* out);

/// Activates the plugin, once all ports are connected, and lets control outputs
/// settle
void
instance_start(instance* i);

/// Runs 0 to HOST_BLOCK_FRAMES
void
instance_run(instance* i, uint32_t n);

/// Returns the latency reported by the last run; 0 if none is reported
uint32_t
instance_latency_frames(const instance* i);

/// Returns where each run leaves a control output; NULL if none has that symbol
const float*
instance_meter(const instance* i, const char* symbol);

#endif // PRESETS_DEMO_RENDER_HOST_HOST_H
