// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "balance.h"

#include <assert.h>

#define ATTACK_S  0.002
#define RELEASE_S 0.100

// Power of the louder channel, -120 dBFS, below which the balance stays
#define SILENCE 1e-12F

void
balance_init(balance* b, double rate_hz, uint32_t n_channels)
{
  b->n_channels = n_channels;
  b->attack     = (float)one_pole_share(ATTACK_S, rate_hz);
  b->release    = (float)one_pole_share(RELEASE_S, rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&b->past[k], b->memory[k], BALANCE_FRAMES);
  }
  balance_reset(b);
}

void
balance_reset(balance* b)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    b->held[k] = b->power[k] = 0.0F;
    ramp_snap(&b->r[k], 1.0);
    for (uint32_t i = 0; i < BALANCE_FRAMES; ++i) {
      b->memory[k][i] = 1.0F;
    }
  }
  b->uneven = 0;
}

/// Level of channel `k` re the louder one
static double
ratio(const balance* b, uint32_t k, float louder)
{
  const float least  = (float)db_to_gain(2.0 * BALANCE_LEAST_DB);
  const float square = b->power[k] / louder;
  return (double)sqrtf(square > least ? square : least);
}

void
balance_control(balance* b)
{
  if (b->n_channels < 2) {
    return;
  }
  const float* const p      = b->power;
  const float        louder = p[0] > p[1] ? p[0] : p[1];
  for (uint32_t k = 0; k < 2; ++k) {
    (void)ramp_push(&b->r[k],
                    louder > SILENCE ? ratio(b, k, louder) : b->r[k].p1);
  }
}

/// Follows the power of both channels in one loop: each waits only for itself
static void
follow(balance* b, const float* const* in, uint32_t n)
{
  const float attack   = b->attack;
  const float release  = b->release;
  float       held[2]  = {b->held[0], b->held[1]};
  float       power[2] = {b->power[0], b->power[1]};
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < 2; ++k) {
      const float square   = in[k][i] * in[k][i];
      const float released = (1.0F - release) * held[k] + release * square;
      held[k]              = square > released ? square : released;
      power[k]             = (1.0F - attack) * power[k] + attack * held[k];
    }
  }
  for (uint32_t k = 0; k < 2; ++k) {
    b->held[k]  = held[k];
    b->power[k] = power[k];
  }
}

void
balance_listen(balance* b, const float* const* in, uint32_t n)
{
  if (b->n_channels < 2) {
    return;
  }
  follow(b, in, n);

  const bool even = ramp_rests_at(&b->r[0], 1.0F) && //
                    ramp_rests_at(&b->r[1], 1.0F);
  if (!even) {
    b->uneven = BALANCE_FRAMES;
  }
  for (uint32_t k = 0; k < 2 && b->uneven; ++k) { // Otherwise it is all 1
    float r[CONTROL_FRAMES];
    ramp_values(&b->r[k], r, n);
    delay_push(&b->past[k], r, n);
  }
  b->uneven -= b->uneven < n ? b->uneven : n;
}

void
balance_take(const balance* b, float* const* x, uint32_t n)
{
  for (uint32_t k = 0; k < 2 && b->uneven; ++k) {
    float r[CONTROL_FRAMES];
    delay_read(&b->past[k], b->past[k].pos - n, r, n);
    for (uint32_t i = 0; i < n; ++i) {
      x[k][i] /= r[i];
    }
  }
}

void
balance_give(const balance* b, float* const* x, uint32_t latency, uint32_t n)
{
  assert(latency <= BALANCE_MAX_LATENCY);
  for (uint32_t k = 0; k < 2 && b->uneven; ++k) {
    float r[CONTROL_FRAMES];
    delay_read(&b->past[k], b->past[k].pos - n - latency, r, n);
    for (uint32_t i = 0; i < n; ++i) {
      x[k][i] *= r[i];
    }
  }
}
