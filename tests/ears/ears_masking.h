// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is heard of a third octave beside the others.
///
/// A simple model of simultaneous masking, on hard strokes:
///
/// 1. Frames of 50 ms (Hann) of the sound; the loudest tenth of them are the
///    hard strokes.  Their mean power in third octaves, 25 Hz to 16 kHz, is
///    set so that all of it is 80 dB SPL.
/// 2. Each third octave masks the others.  At a distance of dz Bark its level L
///    (dB SPL) counts as L - s dz: below it s = 27 dB/Bark, above it
///    s = 24 + 0.23 kHz / f - 0.2 L dB/Bark (E. Terhardt, "Calculating virtual
///    pitch", Hearing Research 1, 1979).  Bark: 13 atan(0.76 f / kHz) +
///    3.5 atan((f / 7.5 kHz)^2) (E. Zwicker and E. Terhardt, JASA 68(5), 1980).
/// 3. The threshold lies below that by what ISO/IEC 11172-3, psychoacoustic
///    model 1, has for noise as masker: 2.025 + 0.175 z dB, z being the
///    masker's Bark.
/// 4. The powers of all maskers and of the threshold in quiet are added, 3.64
///    (f / kHz)^-0.8 - 6.5 exp(-0.6 (f / kHz - 3.3)^2) + 0.001 (f / kHz)^4 dB
///    SPL (Terhardt, as above).
///
/// A band's level less that sum is what is heard of it, in dB; at or below 0
/// nothing is.  All formulas are quoted from memory.

#ifndef TESTS_EARS_EARS_MASKING_H
#define TESTS_EARS_EARS_MASKING_H

#include "ears_bands.h"

#define EARS_HARD_DB_SPL 80.0

/// Mean power of the hard strokes of `n` frames in third octaves.  Where they
/// are is told by `loud`, as long as `x`, which may be `x`.
void
ears_hard_strokes(const float* x, const float* loud, size_t n, double* third);

/// 10 lg of the factor that brings all thirds to EARS_HARD_DB_SPL
double
ears_spl_db(const double* third);

/// Level above the masked threshold; negative below it
double
ears_heard_db(const double* third, double spl_db, size_t which);

#endif // TESTS_EARS_EARS_MASKING_H
