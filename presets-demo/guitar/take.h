// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The recorded takes of "Low Tide": six strings, a pickup, an interface.
///
/// 48 kHz, mono, 24 bit.  Same bytes on every run and on every machine whose
/// double is IEEE 754 binary64, with any compiler that neither contracts nor
/// reassociates (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_TAKE_H
#define PRESETS_DEMO_GUITAR_TAKE_H

#include <stdbool.h>
#include <stdint.h>

#define TAKE_RATE_HZ 48000

typedef enum { TAKE_RHYTHM_LEFT, TAKE_RHYTHM_RIGHT, TAKE_LEAD, N_TAKES } take;

/// Name of the file without its suffix: "rhythm-left" ...
const char*
take_name(take which);

/// Length of every take
uint32_t
take_frames(void);

/// Renders into `out`, take_frames() values of 24 bit (-2^23 .. 2^23 - 1).
/// Allocates; false if out of memory.
bool
take_render(take which, int32_t* out);

/// When the pick lets go of a single note; it rests on the string before
#define TAKE_NOTE_ONSET_S 0.5

/// A single note on guitar_strings[string], `force` 0..1
typedef struct {
  uint32_t string, fret;
  double   force;
} take_note;

/// Renders a note that rings, played by the player of a take with that take's
/// gain, all other strings being damped: `n` values of 24 bit.  Allocates;
/// false if out of memory.
bool
take_render_note(take whose, take_note note, int32_t* out, uint32_t n);

#endif // PRESETS_DEMO_GUITAR_TAKE_H
