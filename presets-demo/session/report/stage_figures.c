// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stage_figures.h"

#include <math.h>
#include <string.h>

static stage_figures
between(const lane* l, const char* name, uint32_t in, uint32_t out)
{
  const signal_figures* const a = &l->figures.joints[in];
  const signal_figures* const b = &l->figures.joints[out];
  stage_figures               f = {
                  .name              = name,
                  .in_db             = a->level_db,
                  .out_db            = b->level_db,
                  .in_lufs           = a->lufs,
                  .out_lufs          = b->lufs,
                  .peak_db           = b->peak_db,
                  .crest_db          = b->crest_db,
                  .reduction_mean_db = (double)NAN,
                  .reduction_max_db  = (double)NAN,
  };
  f.crest_change_db = f.crest_db - a->crest_db;
  f.change_lu       = isfinite(f.in_lufs) && isfinite(f.out_lufs)
                        ? f.out_lufs - f.in_lufs
                        : (double)NAN;
  return f;
}

static double
cost_pc(const lane* l, double time_s)
{
  return 100.0 * time_s * l->rate_hz / (double)l->figures.n_played;
}

stage_figures
stage_figures_of_stage(const lane* l, uint32_t stage)
{
  const chain_stats s = l->figures.stages[stage];
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
  f.latency_frames = l->figures.latency_frames;
  double time_s    = 0.0;
  for (uint32_t i = 0; i < lane_n_stages(l); ++i) {
    time_s += l->figures.stages[i].time_s;
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
