// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The sections of a cabinet at work several at a time: four sections of one
/// channel side by side in one register, or two of both channels, the lanes of
/// each one frame behind those of the one before it.  To the bit, each does
/// what it does one after the other.  Part of cabinet_sections.c.

#ifndef COMMON_SPEAKER_CABINET_ROW_H
#define COMMON_SPEAKER_CABINET_ROW_H

#include "cabinet.h"

/// Returns how many frames fill the row
uint32_t
cabinet_row_least(uint32_t n_channels);

/// Runs so many frames or more, up to the next grid line, with a microphone
/// that stands still; out[k] may be in[k]
void
cabinet_row_run(cabinet*            c,
                const float* const* in,
                float* const*       out,
                uint32_t            n_channels,
                uint32_t            n);

#endif // COMMON_SPEAKER_CABINET_ROW_H
