// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The ten sections of a cabinet at work.  Part of cabinet.c, which designs
/// them.

#ifndef COMMON_SPEAKER_CABINET_SECTIONS_H
#define COMMON_SPEAKER_CABINET_SECTIONS_H

#include "cabinet.h"

/// Returns a + share * b, coefficient by coefficient
static inline biquad
cabinet_add(biquad a, double share, biquad b)
{
  return (biquad){.b0 = a.b0 + share * b.b0,
                  .b1 = a.b1 + share * b.b1,
                  .b2 = a.b2 + share * b.b2,
                  .a1 = a.a1 + share * b.a1,
                  .a2 = a.a2 + share * b.a2};
}

/// Runs `n` frames, up to the next grid line; out[k] may be in[k]
void
cabinet_run_sections(cabinet*            c,
                     const float* const* in,
                     float* const*       out,
                     uint32_t            n_channels,
                     uint32_t            n);

#endif // COMMON_SPEAKER_CABINET_SECTIONS_H
