// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Random marks: which window, which song's group, which move.  A control port
/// can hold one, for a float holds every whole number of 24 bits.

#ifndef PLUGINS_WINDOW_FOLLOW_MARK_H
#define PLUGINS_WINDOW_FOLLOW_MARK_H

#include <stdint.h>

#define MARK_MOST 0xFFFFFFU

/// Returns 1 to MARK_MOST, of the system's own randomness.  Two of 30 marks are
/// equal by chance in one of 39 000 cases: who needs to be sure looks.
uint32_t
mark_new(void);

#endif // PLUGINS_WINDOW_FOLLOW_MARK_H
