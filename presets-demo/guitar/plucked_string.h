// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One string of an electric guitar, plucked, damped, bent, heard by a pickup.
///
/// A digital waveguide (string_wave.h): K. Karplus and A. Strong, D. Jaffe and
/// J. Smith, Computer Music J. 7(2), 1983; V. Valimaki, J. Huopaniemi, M.
/// Karjalainen and Z. Janosy, "Physical Modeling of Plucked String Instruments
/// with Application to Real-Time Sound Synthesis", JAES 44(5), 1996; J. Smith,
/// "Physical Audio Signal Processing", 2010.
///
/// - A point x m from the bridge is read x / c before and after the middle of
///   the line, once for each direction, and a pluck enters the same way.
/// - Two polarisations along the axes of the supports, which are turned against
///   the face of the pickup, slightly detuned and unequal in loss, give the two
///   slopes of the decay and its ripple (G. Weinreich, JASA 62(6), 1977; C.
///   Gough, Acustica 49, 1981; J. Woodhouse, Acta Acustica 90, 2004).
/// - The string is longer while it swings, so that a hard stroke starts sharp
///   (T. Tolonen, V. Valimaki and M. Karjalainen, IEEE Trans. Speech Audio
///   Proc. 8(3), 2000).
/// - A pluck: the pick lands and stops the string, pushes it aside, scrapes,
///   and lets go within `release_s`; a short release makes a stroke bright (G.
///   Cuzzucoli and V. Lombardo, Computer Music J. 23(2), 1999; F. Germain and
///   G. Evangelista, WASPAA 2009) [from memory].
/// - A hard stroke throws the string on the frets (fret_slap.h).
/// - The strings share a bridge that gives a little.
///
/// Lengths in m, velocities in m/s, forces in N.  Nothing here allocates.
/// Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_PLUCKED_STRING_H
#define PRESETS_DEMO_GUITAR_PLUCKED_STRING_H

#include "fret_slap.h"
#include "guitar_pick.h"
#include "repeatable.h"
#include "string_hands.h"
#include "string_wave.h"

#include <stdbool.h>

/// Angle in rad from across the face of the pickup to the first axis of the
/// supports: a stroke there leaves the other axis at rest
#define STRING_TILT 0.6

/// Where the pickup hears the string
typedef struct {
  double position_m; ///< From the bridge
  double aperture_m; ///< Width of the field: two points this far apart
} pickup_place;

typedef struct {
  const string_gauge* gauge;
  double              rate_hz;
  double              tap_near, tap_far; ///< Pickup, in frames from the bridge
  double              impedance;
  double              axis[2]; ///< Shares of the waves in motion across
  string_hands        hands;

  fretboard board;

  // The pick, and a finger rubbing
  guitar_pick pick;
  int32_t     rub_at, rub_frames; ///< rub_at < 0: none
  double      rub, rub_w, rub_low, rub_band;
  dice        noise;

  // What the filters are designed for
  dispersion_filter dispersion;
  loss_filter       own[2];
  double            stiff_fret; ///< < 0: to be designed
  double            own_hz;
  double            designed_hz;
  string_damping    designed;
  double            rest_delay[2]; ///< Delay of the lines without the swing

  string_wave wave[2]; ///< Along the two axes of the supports
  uint32_t    at;
  uint32_t    phase; ///< Within the control period
  bool        sounding;
  uint32_t    awake; ///< Control periods before it may rest
} plucked_string;

/// Outputs, `n` frames each
typedef struct {
  double* across; ///< Velocity at the pickup
  double* along;
  double* force_n; ///< On the bridge
} string_output;

/// Starts silent, with the string open.  `seed` is for its noises.
void
plucked_string_init(plucked_string*     s,
                    const string_gauge* gauge,
                    pickup_place        pickup,
                    double              rate_hz,
                    uint64_t            seed);

/// Returns the present frequency of the first partial, without the swing
double
plucked_string_hz(const plucked_string* s);

/// The pick lands now and lets go `hold_s` later; from now on the string is
/// stopped at `fret`, `cents` out of tune.  Everything else the hands do goes
/// to `s->hands`.
void
plucked_string_pluck(plucked_string* s,
                     double          fret,
                     double          cents,
                     string_stroke   stroke);

/// A finger rubs along the winding for `over_s`: a squeak of velocity `level`
/// around `f_hz`
void
plucked_string_rub(plucked_string* s, double level, double f_hz, double over_s);

/// Writes `n` frames to `out`.  `bridge` is the velocity of the bridge.
void
plucked_string_process(plucked_string* s,
                       const double*   bridge,
                       string_output   out,
                       uint32_t        n);

#endif // PRESETS_DEMO_GUITAR_PLUCKED_STRING_H
