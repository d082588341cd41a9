// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "level_change.h"

/// Bins of the level meter in one hop of the gated level
#define HOP_BINS ((uint32_t)(GATED_LEVEL_HOP_S / LEVEL_BIN_S + 0.5))

static void
side_restart(level_change_side* s)
{
  gated_level_reset(&s->whole, LEVEL_CHANGE_GATE_DBFS);
  s->sum = 0.0;
}

void
level_change_init(level_change* c, double rate_hz, uint32_t n_channels)
{
  c->n_channels = n_channels;
  level_init(&c->in.now, rate_hz);
  level_init(&c->out.now, rate_hz);
  level_change_reset(c);
}

void
level_change_reset(level_change* c)
{
  level_reset(&c->in.now);
  level_reset(&c->out.now);
  level_change_restart(c);
  c->is_stale = false;
}

void
level_change_restart(level_change* c)
{
  side_restart(&c->in);
  side_restart(&c->out);
  c->bins     = 0;
  c->is_stale = true;
  c->db       = 0.0;
}

/// Takes the 100 ms that are full on both sides
static void
hop(level_change* c)
{
  const double samples =
    level_bin_samples(&c->in.now, c->n_channels) * HOP_BINS;
  const bool sounds = gated_level_push(&c->in.whole, c->in.sum / samples);
  (void)gated_level_push(&c->out.whole, c->out.sum / samples);
  c->bins   = 0;
  c->in.sum = c->out.sum = 0.0;

  const double out_db = gated_level_db(&c->out.whole);
  if (sounds && out_db > GATED_LEVEL_FLOOR_DB) {
    c->db = out_db - gated_level_db(&c->in.whole);
  }
}

bool
level_change_control(level_change* c)
{
  // Both meters were fed alike, so their bins close together
  const bool full = level_control(&c->in.now);
  (void)level_control(&c->out.now);
  if (full && c->is_stale) {
    c->is_stale = false;
  } else if (full) {
    c->in.sum += c->in.now.closed;
    c->out.sum += c->out.now.closed;
    if (++c->bins == HOP_BINS) {
      hop(c);
    }
  }
  return full;
}

void
level_change_add(level_change*       c,
                 const float* const* in,
                 const float* const* out,
                 uint32_t            n)
{
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    level_add(&c->in.now, in[k], n);
    level_add(&c->out.now, out[k], n);
  }
}
