// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bypass.h"

#include <string.h>

void
bypass_init(bypass* b, double rate_hz, uint32_t n_channels)
{
  b->n_channels  = n_channels;
  b->rate_hz     = rate_hz;
  b->glide_share = glide_share(rate_hz);
  fade_init(&b->wet, BYPASS_FADE_S, rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&b->line[k], b->memory[k], BYPASS_FRAMES);
  }
  loudness_match_init(&b->matched, rate_hz, n_channels);
}

void
bypass_set(bypass* b, bool enabled, bool matching)
{
  fade_aim(&b->wet, enabled ? 1.0 : 0.0);
  if (matching != b->is_matching) {
    b->is_matching = matching;
    loudness_match_reset(&b->matched);
  }
}

/// The latency that the lines hold
static uint32_t
held(uint32_t latency_frames)
{
  return latency_frames < BYPASS_MAX_LATENCY ? latency_frames
                                             : BYPASS_MAX_LATENCY;
}

/// Sends the gain to what was found for the untreated signal, or to none
static void
aim(bypass* b, double trim_db)
{
  const bool   is_matched = b->is_matching && b->matched.is_known;
  const double gain_db = fmin(b->matched.db + trim_db, LOUDNESS_MATCH_MOST_DB);
  glide_set(&b->gain, is_matched ? gain_db : 0.0);
}

void
bypass_reset(bypass* b, uint32_t latency_frames)
{
  loudness_match_reset(&b->matched);
  bypass_wake(b, latency_frames, 0.0);
}

void
bypass_wake(bypass* b, uint32_t latency_frames, double trim_db)
{
  b->latency = b->from = b->to = held(latency_frames);
  crossfade_stop(&b->turn);
  aim(b, trim_db);
  glide_snap(&b->gain);
  fade_snap(&b->wet, b->wet.target);
  ramp_snap(&b->gain_ramp, db_to_gain(b->gain.y));
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_reset(&b->line[k]);
  }
}

void
bypass_follow(bypass* b, uint32_t latency_frames)
{
  b->latency = held(latency_frames);
}

void
bypass_restart(bypass* b)
{
  if (b->is_matching) {
    loudness_match_restart(&b->matched);
  }
}

double
bypass_match_db(const bypass* b)
{
  const bool is_matched = b->is_matching && b->matched.is_known;
  return is_matched ? b->matched.measured_db + b->trim_db : 0.0;
}

/// One change of latency at a time: a second one in the middle of the first
/// would jump
static void
control_turn(bypass* b)
{
  if (crossfade_done(&b->turn)) {
    crossfade_stop(&b->turn);
  }
  if (!crossfade_runs(&b->turn) && b->latency != b->to) {
    b->from = b->to;
    b->to   = b->latency;
    crossfade_start(&b->turn, BYPASS_TURN_S, b->rate_hz);
  }
}

void
bypass_control(bypass* b, double trim_db)
{
  const double share = b->glide_share;

  b->trim_db = trim_db;
  if (b->is_matching) {
    loudness_match_control(&b->matched, b->wet.target < 1.0);
  }
  aim(b, trim_db);
  if (b->gain.moving || b->gain_ramp.moving) {
    (void)ramp_push(&b->gain_ramp, db_to_gain(glide_next(&b->gain, share)));
  }
  control_turn(b);
}

/// Only the treated signal is heard
static bool
is_treated(const bypass* b)
{
  return fade_rests(&b->wet) && b->wet.target == 1.0;
}

bool
bypass_is_untreated(const bypass* b)
{
  return fade_rests(&b->wet) && b->wet.target == 0.0;
}

/// The untreated signal is neither heard nor measured
static bool
is_out(const bypass* b)
{
  return is_treated(b) && !b->is_matching;
}

void
bypass_delay(bypass* b, const float* const* in, float* const* dry, uint32_t n)
{
  const bool turns = crossfade_runs(&b->turn);
  if (is_out(b) && !turns) {
    for (uint32_t k = 0; k < b->n_channels; ++k) {
      delay_push(&b->line[k], in[k], n);
    }
    return;
  }

  float turn[CONTROL_FRAMES];
  if (turns) {
    crossfade_shares(&b->turn, turn, n);
  }
  for (uint32_t k = 0; k < b->n_channels; ++k) {
    delay_process(&b->line[k], b->to, in[k], dry[k], n);
    if (turns) {
      delay* const d = &b->line[k];
      float        old[CONTROL_FRAMES];
      delay_read(d, d->pos - n - b->from, old, n);
      crossfade_mix_onto(turn, old, dry[k], n);
    }
  }
}

void
bypass_listen(bypass*             b,
              const float* const* dry,
              const float* const* wet,
              uint32_t            n)
{
  if (b->is_matching) {
    loudness_match_add(&b->matched, dry, wet, n);
  }
}

/// Mixes one channel, of which the first `fading` frames are in the crossfade
static void
mix_channel(const bypass* b,
            const float*  dry,
            float*        wet,
            const float*  share,
            uint32_t      fading,
            uint32_t      n)
{
  crossfade_mix_onto(share, dry, wet, fading);
  if (b->wet.target < 1.0) {
    memcpy(wet + fading, dry + fading, (n - fading) * sizeof(float));
  }
}

void
bypass_mix(bypass* b, const float* const* dry, float* const* wet, uint32_t n)
{
  if (is_out(b) && !b->gain_ramp.moving) {
    return;
  }
  float      share[CONTROL_FRAMES];
  float      gain[CONTROL_FRAMES];
  float      heard[CONTROL_FRAMES];
  const bool is_plain = ramp_rests_at(&b->gain_ramp, 1.0f);

  ramp_values(&b->gain_ramp, gain, n);
  if (is_treated(b)) {
    return;
  }
  const uint32_t fading = fade_values(&b->wet, share, n);
  for (uint32_t k = 0; k < b->n_channels; ++k) {
    memcpy(heard, dry[k], n * sizeof(float));
    for (uint32_t i = 0; i < n && !is_plain; ++i) {
      heard[i] *= gain[i];
    }
    mix_channel(b, heard, wet[k], share, fading, n);
  }
}
