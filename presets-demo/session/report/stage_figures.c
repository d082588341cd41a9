// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stage_figures.h"

#include <math.h>
#include <string.h>

static stage_figures
between(const lane* l, const char* name, uint32_t in, uint32_t out)
{
  const probe* const a = &l->probes[in];
  const probe* const b = &l->probes[out];
  stage_figures      f = {
         .name              = name,
         .in_db             = level_meter_gated_db(a->level),
         .out_db            = level_meter_gated_db(b->level),
         .in_lufs           = probe_loudness_lufs(a),
         .out_lufs          = probe_loudness_lufs(b),
         .peak_db           = level_meter_peak_db(b->level),
         .crest_db          = probe_crest_db(b),
         .reduction_mean_db = (double)NAN,
         .reduction_max_db  = (double)NAN,
  };
  f.crest_change_db = f.crest_db - probe_crest_db(a);
  f.change_lu       = isfinite(f.in_lufs) && isfinite(f.out_lufs)
                        ? f.out_lufs - f.in_lufs
                        : (double)NAN;
  return f;
}

static double
cost_pc(const lane* l, double time_s)
{
  return 100.0 * time_s * l->rate_hz / (double)l->n_taken;
}

stage_figures
stage_figures_of_stage(const lane* l, uint32_t stage)
{
  const chain_stats s = chain_stage_stats(l->chain, stage);
  stage_figures     f = between(l, s.stem, stage, stage + 1);
  f.reduction_mean_db = s.reduction_mean_db;
  f.reduction_max_db  = s.reduction_max_db;
  f.latency_frames    = s.latency_frames;
  f.cost_pc           = cost_pc(l, s.time_s);
  return f;
}

stage_figures
stage_figures_of_setup(const lane* l)
{
  stage_figures f  = between(l, "all stages", 0, lane_n_stages(l));
  f.latency_frames = chain_latency_frames(l->chain);
  double time_s    = 0.0;
  for (uint32_t i = 0; i < lane_n_stages(l); ++i) {
    time_s += chain_stage_stats(l->chain, i).time_s;
  }
  f.cost_pc = cost_pc(l, time_s);
  return f;
}

const char*
stage_figures_kind(const lane* l)
{
  return l->in ? "track" : !strcmp(l->strip->name, "bus") ? "bus" : "send";
}

double
stage_figures_max(const time_series* s)
{
  double max = (double)NAN;
  for (uint32_t i = 0; i < s->n; ++i) {
    max = fmax(max, s->values[i]);
  }
  return max;
}
