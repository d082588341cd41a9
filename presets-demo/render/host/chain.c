// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chain.h"

#include "chain_joint.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/// Blocks that are all timed; of later ones, one in so many
#define TIME_ALL_BLOCKS 64U
#define TIME_EVERY      8U

typedef struct {
  const char*  stem;
  instance*    plugin;
  uint32_t     latency_frames;
  const float* reduction_db; ///< NULL if it has no such meter
  double       reduction_sum;
  double       reduction_max;
  uint64_t     n_blocks; ///< In the sum
  double       time_s;   ///< In run(), from the blocks that are timed
} chain_link;

struct chain {
  uint32_t     n_stages;
  chain_link*  links;
  chain_joint* joints; ///< One more than links
  uint64_t     n_done; ///< Frames so far
  chain_watch  watch;
};

static const part_form*
form_for(const part* p, uint32_t n_channels)
{
  const part_form* stereo = NULL;
  for (uint32_t i = 0; i < p->n_forms; ++i) {
    const part_form* const form = &p->forms[i];
    if (form->n_out < 1 || form->n_out > PART_MAX_CHANNELS) {
      continue;
    }
    if (form->n_in == n_channels) {
      return form;
    }
    if (form->n_in == 2) {
      stereo = form;
    }
  }
  return n_channels == 1 ? stereo : NULL;
}

/// Adds the next stage, whose input is the last joint
static bool
add_stage(chain*               c,
          host*                h,
          const part_settings* settings,
          double               rate_hz,
          failure*             f)
{
  const part* const      p    = settings->part;
  chain_joint* const     in   = &c->joints[c->n_stages];
  chain_joint* const     out  = in + 1;
  chain_link* const      l    = &c->links[c->n_stages];
  const part_form* const form = form_for(p, in->n_channels);
  if (!form) {
    return fail_with(f, "%s: has no form for %s", p->stem,
                     in->n_channels == 1 ? "a mono signal" : "a stereo signal");
  }
  l->stem   = p->stem;
  l->plugin = instance_new(h, form, rate_hz, f);
  if (!l->plugin) {
    return false;
  }
  ++c->n_stages;
  chain_joint_init(out, form->n_out, rate_hz);
  for (uint32_t i = 0; i < p->forms[0].n_controls; ++i) {
    (void)instance_set(l->plugin, p->forms[0].controls[i].symbol,
                       settings->values[i]);
  }
  float* const both[] = {in->buffers[0], in->buffers[in->n_channels - 1]};
  instance_connect(l->plugin, both, out->buffers);
  instance_start(l->plugin);
  l->latency_frames   = instance_latency_frames(l->plugin);
  l->reduction_db     = instance_meter(l->plugin, "reduction_db");
  out->latency_frames = in->latency_frames + l->latency_frames;
  out->n_skip         = out->latency_frames;
  return true;
}

chain*
chain_new(host*                h,
          const part_settings* stages,
          uint32_t             n_stages,
          uint32_t             n_channels,
          double               rate_hz,
          failure*             f)
{
  chain* const made = alloc_new(1, sizeof(*made));
  made->links       = alloc_new(n_stages, sizeof(*made->links));
  made->joints      = alloc_new((size_t)n_stages + 1, sizeof(*made->joints));
  chain_joint_init(&made->joints[0], n_channels, rate_hz);
  for (uint32_t i = 0; i < n_stages; ++i) {
    if (!add_stage(made, h, &stages[i], rate_hz, f)) {
      chain_free(made);
      return NULL;
    }
  }
  return made;
}

void
chain_free(chain* c)
{
  if (!c) {
    return;
  }
  for (uint32_t i = 0; i <= c->n_stages; ++i) {
    if (i < c->n_stages) {
      instance_free(c->links[i].plugin);
    }
    chain_joint_clear(&c->joints[i]);
  }
  free(c->links);
  free(c->joints);
  free(c);
}

uint32_t
chain_n_out(const chain* c)
{
  return c->joints[c->n_stages].n_channels;
}

uint32_t
chain_n_channels(const chain* c, uint32_t place)
{
  return c->joints[place].n_channels;
}

uint32_t
chain_latency_frames(const chain* c)
{
  return c->joints[c->n_stages].latency_frames;
}

void
chain_measure_frames(chain* c, uint64_t n)
{
  for (uint32_t i = 0; i <= c->n_stages; ++i) {
    chain_joint* const j = &c->joints[i];
    j->n_left            = n > j->meter.n ? n - j->meter.n : 0;
  }
}

const level_meter*
chain_level(const chain* c, uint32_t place)
{
  return &c->joints[place].meter;
}

void
chain_set_watch(chain* c, chain_watch watch)
{
  c->watch = watch;
}

double
chain_meter(const chain* c, uint32_t stage, const char* symbol)
{
  const float* const now = instance_meter(c->links[stage].plugin, symbol);
  return now ? (double)*now : (double)NAN;
}

/// What plays behind the measured frames depends on how far the caller plays
static void
note_reduction(chain_link* l, const chain_joint* in, uint32_t n)
{
  if (!in->is_past &&
      level_power_db(chain_joint_power(in, n)) >= LEVEL_GATE_DBFS) {
    const double now = (double)*l->reduction_db;
    l->reduction_sum += now;
    l->reduction_max = l->n_blocks ? fmax(l->reduction_max, now) : now;
    ++l->n_blocks;
  }
}

/// Returns the processor time of this thread
static double
processor_s(void)
{
  struct timespec now;
  (void)clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/// Returns how many blocks the time of this one stands for: reading the clock
/// of a thread costs as much as a cheap stage
static uint32_t
timed_blocks(const chain* c)
{
  const uint64_t block = c->n_done / HOST_BLOCK_FRAMES;
  return block < TIME_ALL_BLOCKS ? 1 : block % TIME_EVERY ? 0 : TIME_EVERY;
}

static void
run_plugin(const chain* c, chain_link* l, uint32_t n)
{
  const uint32_t n_timed = timed_blocks(c);
  const double   start_s = n_timed ? processor_s() : 0.0;
  instance_run(l->plugin, n);
  l->time_s += n_timed ? n_timed * (processor_s() - start_s) : 0.0;
}

/// Measures the signal in joint `i` and shows it to the watch
static bool
measure(chain* c, uint32_t i, uint32_t n)
{
  chain_joint* const j    = &c->joints[i];
  const uint32_t     skip = j->n_skip < n ? (uint32_t)j->n_skip : n;
  const uint64_t     left = j->n_left;
  const bool         ok   = chain_joint_measure(j, n);
  const uint32_t     take = (uint32_t)(left - j->n_left);
  if (ok && take && c->watch.look) {
    const float* x[PART_MAX_CHANNELS];
    for (uint32_t k = 0; k < j->n_channels; ++k) {
      x[k] = j->buffers[k] + skip;
    }
    c->watch.look(c->watch.user, i, x, j->n_channels, take);
  }
  return ok;
}

static bool
run_stage(chain* c, uint32_t i, uint32_t n, failure* f)
{
  chain_link* const l = &c->links[i];
  run_plugin(c, l, n);
  if (!measure(c, i + 1, n)) {
    return fail_with(f,
                     "%s: outputs samples that are not finite, near frame %llu",
                     l->stem, (unsigned long long)c->n_done);
  }
  const uint32_t latency = instance_latency_frames(l->plugin);
  if (latency != l->latency_frames) {
    return fail_with(
      f, "%s: changes its latency from %u to %u frames while playing", l->stem,
      l->latency_frames, latency);
  }
  if (l->reduction_db) {
    note_reduction(l, &c->joints[i], n);
  }
  return true;
}

static bool
run_block(chain* c, uint32_t n, failure* f)
{
  if (!measure(c, 0, n)) {
    return fail_with(f, "input: samples that are not finite, near frame %llu",
                     (unsigned long long)c->n_done);
  }
  for (uint32_t i = 0; i < c->n_stages; ++i) {
    if (!run_stage(c, i, n, f)) {
      return false;
    }
  }
  c->n_done += n;
  return true;
}

bool
chain_run(chain*              c,
          const float* const* in,
          float* const*       out,
          uint32_t            n,
          failure*            f)
{
  chain_joint* const first = &c->joints[0];
  chain_joint* const last  = &c->joints[c->n_stages];
  for (uint32_t i = 0; i < n; i += HOST_BLOCK_FRAMES) {
    const uint32_t left = n - i;
    const uint32_t now  = left < HOST_BLOCK_FRAMES ? left : HOST_BLOCK_FRAMES;
    for (uint32_t k = 0; k < first->n_channels; ++k) {
      memcpy(first->buffers[k], in[k] + i, now * sizeof(float));
    }
    if (!run_block(c, now, f)) {
      return false;
    }
    for (uint32_t k = 0; k < last->n_channels; ++k) {
      memcpy(out[k] + i, last->buffers[k], now * sizeof(float));
    }
  }
  return true;
}

uint32_t
chain_n_stages(const chain* c)
{
  return c->n_stages;
}

chain_stats
chain_stage_stats(const chain* c, uint32_t stage)
{
  const chain_link* const  l   = &c->links[stage];
  const chain_joint* const in  = &c->joints[stage];
  const chain_joint* const out = in + 1;
  const bool               has = l->reduction_db && l->n_blocks;
  return (chain_stats){
    .stem    = l->stem,
    .in_db   = level_meter_gated_db(&in->meter),
    .out_db  = level_meter_gated_db(&out->meter),
    .peak_db = level_meter_peak_db(&out->meter),
    .reduction_mean_db =
      has ? l->reduction_sum / (double)l->n_blocks : (double)NAN,
    .reduction_max_db = has ? l->reduction_max : (double)NAN,
    .latency_frames   = l->latency_frames,
    .time_s           = l->time_s,
  };
}

chain_stats
chain_total_stats(const chain* c)
{
  const chain_joint* const in  = &c->joints[0];
  const chain_joint* const out = &c->joints[c->n_stages];
  return (chain_stats){
    .in_db             = level_meter_gated_db(&in->meter),
    .out_db            = level_meter_gated_db(&out->meter),
    .peak_db           = level_meter_peak_db(&out->meter),
    .reduction_mean_db = NAN,
    .reduction_max_db  = NAN,
    .latency_frames    = out->latency_frames,
  };
}
