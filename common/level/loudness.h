// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of one or two channels: momentary, short-term and integrated.
///
/// ITU-R BS.1770-5 (2023), Annex 1; terms and tests of EBU Tech 3341 (2023).
/// The K-weighting is designed for the rate from its analog parameters, which
/// give the standard's coefficients at 48 kHz.  A mono signal counts as one
/// channel, as the standard has it.  Loudness is in LUFS, differences in LU.
///
/// Double state.  All but init are real-time safe.

#ifndef COMMON_LEVEL_LOUDNESS_H
#define COMMON_LEVEL_LOUDNESS_H

#include "gated_level.h"

#define LOUDNESS_GATE_LUFS  (-70.0)
#define LOUDNESS_SHORT_HOPS 30 ///< 3 s

typedef struct {
  uint32_t    n_channels;
  uint32_t    hop_lines; ///< Grid lines in 100 ms
  uint32_t    lines;     ///< Grid lines since the last hop
  double      shelf_b[3], shelf_a[2], pass_a[2];
  double      shelf[MAX_CHANNELS][2], pass[MAX_CHANNELS][2];
  double      sum;     ///< Sum of weighted squares since the last hop
  uint32_t    n_stale; ///< Hops to leave out after a restart
  double      recent[LOUDNESS_SHORT_HOPS];
  gated_level gated;
} loudness;

void
loudness_init(loudness* l, double rate_hz, uint32_t n_channels);

void
loudness_reset(loudness* l);

/// Restarts the integration, 100 to 200 ms from now; keeps the filters and the
/// last three seconds
void
loudness_restart(loudness* l);

/// Leaves what is played out of the integration, from now until 100 to 200 ms
/// after the last call; keeps what it has
void
loudness_leave_out(loudness* l);

/// Adds `n` frames, up to the next grid line
void
loudness_add(loudness* l, const float* const* in, uint32_t n);

/// Takes a grid line, before the frames that follow it.  True if 100 ms are
/// full and the 400 ms up to here passed the absolute gate.
bool
loudness_control(loudness* l);

double
loudness_momentary_lufs(const loudness* l);

double
loudness_short_term_lufs(const loudness* l);

double
loudness_integrated_lufs(const loudness* l);

#endif // COMMON_LEVEL_LOUDNESS_H
