// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The pick on a string: it lands and stops the string, pushes it aside,
/// scrapes, and lets go.
///
/// G. Cuzzucoli and V. Lombardo, "A Physical Model of the Classical Guitar,
/// Including the Player's Touch", Computer Music J. 23(2), 1999; F. Germain and
/// G. Evangelista, "Synthesis of Guitar by Digital Waveguides: Modeling the
/// Plectrum in the Physical Interaction of the Player with the Instrument",
/// WASPAA 2009 [from memory].  Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_GUITAR_PICK_H
#define PRESETS_DEMO_GUITAR_GUITAR_PICK_H

#include "repeatable.h"

/// A stroke of the pick
typedef struct {
  double height_m;   ///< How far the string is pulled aside
  double position_m; ///< From the bridge
  double release_s;  ///< Slip off the pick: time constant of two poles
  double hold_s;     ///< Pick on the string before that
  double angle;      ///< In rad; 0: across the face of the pickup
  double scrape;     ///< Noise of the pick, re its force
} string_stroke;

typedef struct {
  string_stroke stroke;
  double        rate_hz;
  int32_t       at;          ///< Frames since it landed; < 0: off the string
  int32_t       hold_frames; ///< Until it slips
  int32_t       release_frames;
  double        touch; ///< How much it damps the string, 0..1
  double        scrape_low, scrape_high;
} guitar_pick;

/// The pick lands now
void
guitar_pick_land(guitar_pick* p, string_stroke stroke, double rate_hz);

/// Moves `touch` on by one control period.  The pick no longer damps from
/// `before` frames before it slips.
void
guitar_pick_damp(guitar_pick* p, int32_t before);

/// Returns its force in the next frame, as a share of that at which it slips
double
guitar_pick_force(guitar_pick* p, dice* noise);

#endif // PRESETS_DEMO_GUITAR_GUITAR_PICK_H
