// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane.h"

#include "common/core/dsp.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool
lane_is_aligned(const lane* l)
{
  const float asked = l->strip->align; // The session overrides the setup
  return l->in &&
         (asked == SESSION_ALIGN_AS_SETUP ? l->setup.align : asked > 0.0F);
}

bool
lane_fail(const lane* l, failure* f)
{
  const failure what = *f;
  if (l->in) {
    return fail_with(f, "track '%s': %s", l->strip->name, what.text);
  }
  return fail_with(f, "%s: %s", l->strip->name, what.text);
}

uint32_t
lane_n_stages(const lane* l)
{
  return chain_n_stages(l->chain);
}

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

/// Sets the gain of each side: constant power for a mono signal, -3.01 dB in
/// the middle; for a stereo signal the far side is turned down the same way,
/// from 0 dB.  Common practice.
static void
set_gains(lane* l)
{
  const double gain    = pow(10.0, (double)l->strip->gain_db / 20.0);
  const double angle   = ((double)l->strip->pan + 100.0) / 200.0 * DSP_PI / 2.0;
  const double sides[] = {cos(angle), sin(angle)};
  const bool   is_mono = chain_n_out(l->chain) == 1;
  for (int k = 0; k < 2; ++k) {
    const double side = is_mono ? sides[k] : fmin(1.0, sqrt(2.0) * sides[k]);
    // At the end of its range the far side is exactly silent
    const bool is_far = (double)l->strip->pan == (k ? -100.0 : 100.0);
    l->gains[k]       = is_far ? 0.0F : (float)(gain * side);
  }
}

/// Makes what measures the joints and the output
static void
start_probes(lane* l, spectrum_tools* spectra)
{
  const uint32_t  n_joints   = lane_n_stages(l) + 1;
  const bool      is_bus     = !strcmp(l->strip->name, "bus");
  const uint32_t  stereo     = 2;
  uint32_t* const n_channels = alloc_new(n_joints, sizeof(*n_channels));
  for (uint32_t i = 0; i < n_joints; ++i) {
    n_channels[i] = chain_n_channels(l->chain, i);
  }
  probe_bank_spec spec = {.n_channels   = n_channels,
                          .n_signals    = n_joints,
                          .rate_hz      = l->rate_hz,
                          .has_loudness = true,
                          .spectra      = spectra};
  l->bank              = probe_bank_new(&spec);
  l->probes            = alloc_new(n_joints, sizeof(*l->probes));
  for (uint32_t i = 0; i < n_joints; ++i) {
    l->probes[i] = (probe){chain_level(l->chain, i), l->bank, i};
  }
  // The output of the bus is the mix
  spec.n_channels = &stereo;
  spec.n_signals  = 1;
  spec.is_mix     = is_bus;
  spec.spectra    = is_bus ? spectra : NULL;
  l->out_bank     = probe_bank_new(&spec);
  l->out          = (probe){&l->out_level, l->out_bank, 0};
  level_meter_init(&l->out_level, l->rate_hz);
  free(n_channels);
}

bool
lane_start(lane* l, host* h, double rate_hz, spectrum_tools* spectra)
{
  l->rate_hz = rate_hz;
  l->chain = chain_new(h, l->setup.stages, l->setup.n_stages, l->n_in, rate_hz,
                       &l->failure);
  if (!l->chain) {
    l->has_failed = true;
    return false;
  }
  const uint32_t n_stages = lane_n_stages(l);
  l->n_skip               = chain_latency_frames(l->chain);
  l->reductions           = alloc_new(n_stages, sizeof(*l->reductions));
  l->clips                = alloc_new(n_stages + 1, sizeof(*l->clips));
  for (uint32_t i = 0; i < n_stages; ++i) {
    time_series_init(&l->reductions[i], rate_hz, l->n_total);
  }
  start_probes(l, spectra);
  for (int k = 0; k < 2; ++k) {
    l->work[k] = alloc_new(LANE_FRAMES, sizeof(float));
  }
  set_gains(l);
  chain_measure_frames(l->chain, l->n_total);
  chain_set_watch(l->chain, (chain_watch){look, l});
  return true;
}

void
lane_clear(lane* l)
{
  const uint32_t n_stages = l->chain ? lane_n_stages(l) : 0;
  for (uint32_t i = 0; l->reductions && i < n_stages; ++i) {
    time_series_clear(&l->reductions[i]);
  }
  for (uint32_t i = 0; l->clips && i <= n_stages; ++i) {
    listen_clip_clear(&l->clips[i]);
  }
  listen_clip_clear(&l->dry_clip);
  level_meter_clear(&l->out_level);
  probe_bank_free(l->out_bank);
  probe_bank_free(l->bank);
  free(l->probes);
  free(l->reductions);
  free(l->clips);
  audio_out_abandon(l->dry_file);
  audio_out_abandon(l->file);
  chain_free(l->chain);
  audio_in_close(l->in);
  setup_clear(&l->setup);
  lane_buffer_clear(&l->buffer);
  free(l->work[0]);
  free(l->work[1]);
  *l = (lane){.strip = NULL};
}

/// Returns how many of `n` frames from `at` on belong to the piece
static uint32_t
inside(const lane* l, uint64_t at, uint32_t n)
{
  const uint64_t left = l->n_total > at ? l->n_total - at : 0;
  return left < n ? (uint32_t)left : n;
}

/// Writes the frames that belong to the piece, and appends all to the buffer
static bool
hand_on(lane* l, const float* const* x, uint32_t n)
{
  const uint32_t now = inside(l, l->buffer.end, n);
  (void)level_meter_add(&l->out_level, x, 2, now);
  probe_bank_add(l->out_bank, 0, x, now);
  if (l->file && now && !audio_out_write(l->file, x, now, &l->failure)) {
    return false;
  }
  lane_buffer_append(&l->buffer, x, n);
  return true;
}

/// Plays `n` frames in `work` through the chain
static bool
play(lane* l, uint32_t n)
{
  if (!chain_run(l->chain, (const float* const*)l->work, l->work, n,
                 &l->failure)) {
    return false;
  }
  const uint32_t skip = l->n_skip < n ? (uint32_t)l->n_skip : n;
  l->n_skip -= skip;
  // The right first: a mono signal is in the left buffer for both
  const float* const from = l->work[chain_n_out(l->chain) - 1];
  for (uint32_t i = skip; i < n; ++i) {
    l->work[1][i] = l->gains[1] * from[i];
  }
  for (uint32_t i = skip; i < n; ++i) {
    l->work[0][i] *= l->gains[0];
  }
  const float* const both[] = {l->work[0] + skip, l->work[1] + skip};
  return hand_on(l, both, n - skip);
}

/// Writes the input that belongs to the piece
static bool
write_dry(lane* l, uint32_t n)
{
  const uint32_t now = inside(l, l->n_taken, n);
  l->n_taken += n;
  return !l->dry_file || !now ||
         audio_out_write(l->dry_file, (const float* const*)l->work, now,
                         &l->failure);
}

/// Reads the next `n` frames of the file, then silence
static bool
read_track(lane* l, uint32_t n)
{
  const int64_t got = audio_in_read(l->in, l->work, n, &l->failure);
  if (got < 0) {
    return false;
  }
  for (uint32_t k = 0; k < l->n_in; ++k) {
    memset(l->work[k] + got, 0, (n - (size_t)got) * sizeof(float));
  }
  listen_clip_pass(&l->dry_clip, (const float* const*)l->work, n);
  if (!write_dry(l, n)) {
    return false;
  }
  const float gain = (float)pow(10.0, l->take.align_db / 20.0);
  for (uint32_t k = 0; k < l->n_in; ++k) {
    for (int64_t i = 0; i < got; ++i) {
      l->work[k][i] *= gain;
    }
  }
  return true;
}

void
lane_play_track(lane* l, uint32_t n)
{
  const uint64_t end = l->buffer.end + n;
  while (!l->has_failed && l->buffer.end < end) {
    const uint64_t left = end - l->buffer.end + l->n_skip;
    const uint32_t now  = left < LANE_FRAMES ? (uint32_t)left : LANE_FRAMES;
    l->has_failed       = !read_track(l, now) || !play(l, now);
  }
}

void
lane_play(lane* l, uint32_t n)
{
  l->has_failed = l->has_failed || !write_dry(l, n) || !play(l, n);
}
