// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Random numbers that nobody can foresee: marks, and blind comparisons

#ifndef PLUGINS_WINDOW_CONTROLS_CHANCE_H
#define PLUGINS_WINDOW_CONTROLS_CHANCE_H

#include <stdint.h>

/// Returns 32 random bits, other ones in each run.  Not for the audio thread.
uint32_t
chance_bits(void);

#endif // PLUGINS_WINDOW_CONTROLS_CHANCE_H
