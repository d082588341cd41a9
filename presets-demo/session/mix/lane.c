// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane_measure.h"

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
  return l->setup.n_stages;
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
  const bool   is_mono = l->n_out == 1;
  for (int k = 0; k < 2; ++k) {
    const double side = is_mono ? sides[k] : fmin(1.0, sqrt(2.0) * sides[k]);
    // At the end of its range the far side is exactly silent
    const bool is_far = (double)l->strip->pan == (k ? -100.0 : 100.0);
    l->gains[k]       = is_far ? 0.0F : (float)(gain * side);
  }
}

/// Makes the chain, what measures its joints, and room for what that finds
static bool
start_chain(lane* l, host* h, spectrum_tools* spectra)
{
  const uint32_t n_stages = lane_n_stages(l);
  l->chain =
    chain_new(h, l->setup.stages, n_stages, l->n_in, l->rate_hz, &l->failure);
  if (!l->chain) {
    l->has_failed = true;
    return false;
  }
  l->n_out      = chain_n_out(l->chain);
  l->n_skip     = chain_latency_frames(l->chain);
  l->reductions = alloc_new(n_stages, sizeof(*l->reductions));
  l->clips      = alloc_new(n_stages + 1, sizeof(*l->clips));
  for (uint32_t i = 0; i < n_stages; ++i) {
    time_series_init(&l->reductions[i], l->rate_hz, l->n_total);
  }
  lane_measure_chain(l, spectra);
  return true;
}

bool
lane_start(lane* l, host* h, double rate_hz, spectrum_tools* spectra)
{
  l->rate_hz = rate_hz;
  if (!l->taken && !start_chain(l, h, spectra)) {
    return false;
  }
  lane_measure_out(l, spectra);
  for (int k = 0; k < 2; ++k) {
    l->work[k] = alloc_new(LANE_FRAMES, sizeof(float));
  }
  set_gains(l);
  return true;
}

void
lane_clear(lane* l)
{
  lane_measure_clear(l);
  audio_out_abandon(l->dry_file);
  audio_out_abandon(l->file);
  track_file_abandon(l->keeping);
  track_file_close(l->taken);
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

/// Keeps what comes out of the chain.  That a file cannot be written is no
/// fault of the lane: it plays on, and is not kept.
static void
keep(lane* l, const float* const* x, uint32_t n)
{
  if (l->keeping && !track_file_write(l->keeping, x, n, &l->keep_failure)) {
    track_file_abandon(l->keeping);
    l->keeping = NULL;
  }
}

/// Puts `n` frames behind the chain into `work`: played from those in `work`,
/// or taken.  The first `skip` are latency.
static bool
pass_chain(lane* l, uint32_t n, uint32_t skip)
{
  float* const behind[] = {l->work[0] + skip, l->work[1] + skip};
  if (l->taken) {
    return track_file_read(l->taken, behind, n - skip, &l->failure);
  }
  if (!chain_run(l->chain, (const float* const*)l->work, l->work, n,
                 &l->failure)) {
    return false;
  }
  keep(l, (const float* const*)behind, n - skip);
  return true;
}

/// Plays `n` frames in `work` through the chain
static bool
play(lane* l, uint32_t n)
{
  const uint32_t skip = l->n_skip < n ? (uint32_t)l->n_skip : n;
  if (!pass_chain(l, n, skip)) {
    return false;
  }
  l->n_skip -= skip;
  // The right first: a mono signal is in the left buffer for both
  const float* const from = l->work[l->n_out - 1];
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

/// Reads the next `n` frames of the recording, then silence
static bool
read_dry(lane* l, uint32_t n)
{
  const int64_t got = audio_in_read(l->in, l->work, n, &l->failure);
  if (got < 0) {
    return false;
  }
  for (uint32_t k = 0; k < l->n_in; ++k) {
    memset(l->work[k] + got, 0, (n - (size_t)got) * sizeof(float));
  }
  listen_clip_pass(&l->dry_clip, (const float* const*)l->work, n);
  return write_dry(l, n);
}

/// Returns whether the recording itself is wanted, too
static bool
needs_dry(const lane* l)
{
  const listen_clip* const c = &l->dry_clip;
  return l->dry_file || c->n_passed < c->from + c->n;
}

/// Reads what the chain plays next
static bool
read_track(lane* l, uint32_t n)
{
  if (l->taken && !needs_dry(l)) {
    return true;
  }
  if (!read_dry(l, n)) {
    return false;
  }
  const float gain = (float)pow(10.0, l->take.align_db / 20.0);
  for (uint32_t k = 0; !l->taken && k < l->n_in; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
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
