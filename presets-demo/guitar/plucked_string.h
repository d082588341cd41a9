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
/// - Two polarisations, slightly detuned and unequal in loss, give the two
///   slopes of the decay and its slow beats (G. Weinreich, JASA 62(6), 1977).
/// - The string is longer while it swings, so that a hard stroke starts sharp
///   (T. Tolonen, V. Valimaki and M. Karjalainen, IEEE Trans. Speech Audio
///   Proc. 8(3), 2000).
/// - A pluck: the pick lands and stops the string, pushes it aside, scrapes,
///   and lets go within `release_s`; a short release makes a stroke bright.
/// - The strings share a bridge that gives a little.
///
/// Lengths in m, velocities in m/s, forces in N.  Nothing here allocates.
/// Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_PLUCKED_STRING_H
#define PRESETS_DEMO_GUITAR_PLUCKED_STRING_H

#include "repeatable.h"
#include "string_hands.h"
#include "string_wave.h"

#include <stdbool.h>

/// A stroke of the pick
typedef struct {
  double height_m;   ///< How far the string is pulled aside
  double position_m; ///< From the bridge
  double release_s;  ///< Slip off the pick: time constant of two poles
  double hold_s;     ///< Pick on the string before that
  double angle;      ///< 0: across the face of the pickup .. 1: along it
  double scrape;     ///< Noise of the pick, re its force
} string_stroke;

/// Where the pickup hears the string
typedef struct {
  double position_m; ///< From the bridge
  double aperture_m; ///< Width of the field: two points this far apart
} pickup_place;

typedef struct {
  const string_gauge* gauge;
  double              rate_hz;
  double              tap_near, tap_far; ///< Pickup, in frames from the bridge
  string_hands        hands;

  // The pick, and a finger rubbing
  string_stroke stroke;
  int32_t       stroke_at, hold_frames, release_frames; ///< stroke_at < 0: none
  double        touch; ///< Pick on the string, 0..1
  double        scrape_low, scrape_high;
  int32_t       rub_at, rub_frames; ///< rub_at < 0: none
  double        rub, rub_w, rub_low, rub_band;
  dice          noise;

  // What the filters are designed for
  dispersion_filter dispersion;
  loss_filter       own[2];
  double            stiff_fret; ///< < 0: to be designed
  double            own_hz;
  double            designed_hz;
  string_damping    designed;
  double            rest_delay[2]; ///< Delay of the lines without the swing

  string_wave wave[2]; ///< Across the face of the pickup, along it
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
