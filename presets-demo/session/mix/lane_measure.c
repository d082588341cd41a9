// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane_measure.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Measures the joints of the chain
static void
look(void*               user,
     uint32_t            joint,
     const float* const* x,
     uint32_t            n_channels,
     uint32_t            n)
{
  (void)n_channels;
  lane* const l = user;
  probe_bank_add(l->bank, joint, x, n);
  listen_clip_pass(&l->clips[joint], x, n);
  const double reduction_db =
    joint ? chain_meter(l->chain, joint - 1, "reduction_db") : (double)NAN;
  if (!isnan(reduction_db)) { // It has no such meter
    time_series_add(&l->reductions[joint - 1], reduction_db, n);
  }
}

void
lane_measure_chain(lane* l, spectrum_tools* spectra)
{
  const uint32_t  n_joints   = lane_n_stages(l) + 1;
  uint32_t* const n_channels = alloc_new(n_joints, sizeof(*n_channels));
  for (uint32_t i = 0; i < n_joints; ++i) {
    n_channels[i] = chain_n_channels(l->chain, i);
  }
  l->bank = probe_bank_new(&(probe_bank_spec){.n_channels   = n_channels,
                                              .n_signals    = n_joints,
                                              .rate_hz      = l->rate_hz,
                                              .has_loudness = true,
                                              .spectra      = spectra});
  free(n_channels);
  chain_measure_frames(l->chain, l->n_total);
  chain_set_watch(l->chain, (chain_watch){look, l});
}

void
lane_measure_out(lane* l, spectrum_tools* spectra)
{
  static const uint32_t stereo = 2;
  // The output of the bus is the mix
  const bool is_bus = !l->in && !strcmp(l->strip->name, "bus");
  l->out_bank =
    probe_bank_new(&(probe_bank_spec){.n_channels   = &stereo,
                                      .n_signals    = 1,
                                      .rate_hz      = l->rate_hz,
                                      .has_loudness = true,
                                      .is_mix       = is_bus,
                                      .spectra      = is_bus ? spectra : NULL});
  l->out = (probe){&l->out_level, l->out_bank, 0};
  level_meter_init(&l->out_level, l->rate_hz);
}

/// Takes the figures of the chain
static void
end_chain(lane* l)
{
  const uint32_t      n_stages = lane_n_stages(l);
  lane_figures* const f        = &l->figures;
  f->joints         = alloc_new((size_t)n_stages + 1, sizeof(*f->joints));
  f->stages         = alloc_new(n_stages, sizeof(*f->stages));
  f->latency_frames = chain_latency_frames(l->chain);
  f->n_played       = l->n_taken;
  for (uint32_t i = 0; i <= n_stages; ++i) {
    const probe p = {chain_level(l->chain, i), l->bank, i};
    f->joints[i]  = probe_figures(&p);
  }
  for (uint32_t i = 0; i < n_stages; ++i) {
    f->stages[i] = chain_stage_stats(l->chain, i);
  }
}

void
lane_end(lane* l)
{
  if (l->chain) {
    end_chain(l);
  }
  if (l->out_bank) {
    l->figures.out = probe_figures(&l->out);
  }
}

void
lane_forget_facts(lane* l)
{
  const uint32_t n_stages = lane_n_stages(l);
  for (uint32_t i = 0; l->reductions && i < n_stages; ++i) {
    time_series_clear(&l->reductions[i]);
  }
  for (uint32_t i = 0; l->clips && i <= n_stages; ++i) {
    listen_clip_clear(&l->clips[i]);
  }
  free(l->figures.joints);
  free(l->figures.stages);
  free(l->reductions);
  free(l->clips);
  l->figures    = (lane_figures){.joints = NULL};
  l->reductions = NULL;
  l->clips      = NULL;
}

void
lane_measure_clear(lane* l)
{
  lane_forget_facts(l);
  listen_clip_clear(&l->dry_clip);
  level_meter_clear(&l->out_level);
  probe_bank_free(l->out_bank);
  probe_bank_free(l->bank);
}
