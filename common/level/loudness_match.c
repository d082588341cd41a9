// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "loudness_match.h"

#define SET_AFTER_BLOCKS 30 // 3 s
#define DEAD_BAND_DB     0.2
#define STEP_DB          (0.5 * GATED_LEVEL_HOP_S) // 0.5 dB per second

void
loudness_match_init(loudness_match* m, double rate_hz, uint32_t n_channels)
{
  loudness_init(&m->dry, rate_hz, n_channels);
  loudness_init(&m->wet, rate_hz, n_channels);
  loudness_match_reset(m);
}

void
loudness_match_reset(loudness_match* m)
{
  loudness_reset(&m->dry);
  loudness_reset(&m->wet);
  m->n_blocks    = 0;
  m->is_set      = false;
  m->is_fresh    = true;
  m->is_known    = false;
  m->is_held     = false;
  m->gliding     = false;
  m->db          = 0.0;
  m->measured_db = 0.0;
}

void
loudness_match_restart(loudness_match* m)
{
  loudness_restart(&m->dry);
  loudness_restart(&m->wet);
  m->n_blocks = 0;
  m->is_set   = false;
  m->gliding  = false;
}

/// Moves the steady gain, slowly and only if it has to be moved
static void
follow(loudness_match* m, double target_db)
{
  const double off_db = target_db - m->db;
  if (fabs(off_db) > DEAD_BAND_DB) {
    m->gliding = true;
  }
  if (m->gliding) {
    m->db += clampd(off_db, -STEP_DB, STEP_DB);
    m->gliding = fabs(off_db) > STEP_DB;
  }
}

/// Takes 100 ms more of a signal that sounds
static void
take(loudness_match* m)
{
  const double wet_lufs = loudness_integrated_lufs(&m->wet);
  if (wet_lufs <= GATED_LEVEL_FLOOR_DB) {
    return;
  }
  const double target_db =
    clampd(wet_lufs - loudness_integrated_lufs(&m->dry),
           LOUDNESS_MATCH_LEAST_DB, LOUDNESS_MATCH_MOST_DB);

  ++m->n_blocks;
  if (m->is_set) {
    follow(m, target_db);
    m->measured_db = target_db;
    return;
  }
  m->is_set = m->n_blocks >= SET_AFTER_BLOCKS;
  if (m->is_set || m->is_fresh || target_db < m->db) {
    m->db       = target_db;
    m->is_known = true;
  }
  m->is_fresh    = m->is_fresh && !m->is_set;
  m->measured_db = m->db;
}

void
loudness_match_control(loudness_match* m, bool hold)
{
  if (hold) { // Stages before this one may be off with it: another input
    if (!m->is_held && m->is_set) {
      m->db      = m->measured_db;
      m->gliding = false;
    }
    loudness_leave_out(&m->dry);
    loudness_leave_out(&m->wet);
  }
  m->is_held        = hold;
  const bool sounds = loudness_control(&m->dry);
  (void)loudness_control(&m->wet);
  if (sounds && !hold) {
    take(m);
  }
}

void
loudness_match_add(loudness_match*     m,
                   const float* const* dry,
                   const float* const* wet,
                   uint32_t            n)
{
  loudness_add(&m->dry, dry, n);
  loudness_add(&m->wet, wet, n);
}
