// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The ten sections of a cabinet at work.  Part of cabinet.c, which designs
/// them.

#ifndef COMMON_SPEAKER_CABINET_SECTIONS_H
#define COMMON_SPEAKER_CABINET_SECTIONS_H

#include "cabinet.h"

/// Runs `n` frames, up to the next grid line; out[k] may be in[k]
void
cabinet_run_sections(cabinet*            c,
                     const float* const* in,
                     float* const*       out,
                     uint32_t            n_channels,
                     uint32_t            n);

#endif // COMMON_SPEAKER_CABINET_SECTIONS_H
