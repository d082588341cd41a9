// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tables of dry guitars

#ifndef TESTS_EARS_EARS_DRY_H
#define TESTS_EARS_EARS_DRY_H

#include "ears_sound.h"

#include <stdbool.h>

/// Spectrum and levels of a take.  `is_our_lead`: it must have the crest of a
/// real one.
void
ears_print_dry(const ears_sound* s, bool is_our_lead);

/// Single notes of the demo's guitar at three strengths, beside real ones
void
ears_print_notes(void);

#endif // TESTS_EARS_EARS_DRY_H
