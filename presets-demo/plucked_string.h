// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One string of an electric guitar, plucked, damped, bent and heard by a
/// pickup.
///
/// A digital waveguide: waves of velocity on a delay line, with the losses and
/// the stiffness of one period lumped at the far end.  K. Karplus and A.
/// Strong, D. Jaffe and J. Smith, Computer Music J. 7(2), 1983; V. Valimaki, J.
/// Huopaniemi, M. Karjalainen and Z. Janosy, "Physical Modeling of Plucked
/// String Instruments with Application to Real-Time Sound Synthesis", JAES
/// 44(5), 1996; J. Smith, "Physical Audio Signal Processing", 2010.
///
/// The bridge sits in the middle of the line.  What arrives there has travelled
/// half the line; a point x m from the bridge is read x / c before and after,
/// once for each direction, and a pluck enters the same way.
///
/// - Two polarisations, slightly detuned and differently lossy, give the two
///   slopes of the decay and its slow beats (Weinreich, JASA 62(6), 1977).
/// - The string is longer while it swings, so a hard stroke starts sharp
///   (Tolonen, Valimaki and Karjalainen, IEEE Trans. Speech Audio Proc. 8(3),
///   2000).
/// - A pluck: the pick lands and stops the string, pushes it aside, scrapes,
///   and lets go within `release_s`, which is what makes a stroke bright.
///
/// Lengths in m, displacement in m, velocity in m/s.  Nothing here allocates;
/// cost is about 0.1 us per frame.  Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_PLUCKED_STRING_H
#define PRESETS_DEMO_PLUCKED_STRING_H

#include "repeatable.h"
#include "string_design.h"

#include <stdbool.h>

/// Controls move once per STRING_CONTROL_FRAMES
#define STRING_CONTROL_FRAMES 32

#define STRING_LINE_FRAMES 1024 ///< A power of two

/// A stroke of the pick
typedef struct {
  double height_m;   ///< How far the string is pulled aside
  double position_m; ///< From the bridge
  double release_s;  ///< Time to slip off the pick
  double hold_s;     ///< Pick on the string before that
  double angle;      ///< 0 across the pickup .. 1 along it
  double scrape;     ///< Noise of the pick, re its force
} string_stroke;

/// Where the pickup hears the string
typedef struct {
  double position_m; ///< From the bridge
  double aperture_m; ///< Width of the field; two points this far apart
  double along;      ///< Sensitivity to motion along the face, re across it
} pickup_place;

/// One polarisation
typedef struct {
  double      line[STRING_LINE_FRAMES];
  double      ap1[MAX_SECTIONS], ap2[MAX_SECTIONS];
  double      low[LOSS_SHELVES];
  loss_filter loss, loss_step; ///< Now, and change per frame
  double      delay, delay_step;
  double      detune;  ///< Factor of frequency
  double      support; ///< Factor of the loss at the supports
  double      level2;  ///< Mean square of the wave
} string_wave;

typedef struct {
  const string_gauge* gauge;
  pickup_place        pickup;
  double              rate_hz;

  // What the hands do
  double         cents;             ///< Error of tuning, in cents
  double         fret, fret_target; ///< Sliding, in semitones
  double         fret_step;         ///< Per control period
  double         bend, bend_from, bend_to, bend_at, bend_step; ///< In cents
  double         shake, shake_depth, shake_phase, shake_step;  ///< Vibrato
  string_damping hands, hands_target;
  double         hands_share;
  string_stroke  stroke;
  int32_t        stroke_at, hold_frames, release_frames; ///< Frames; <0: none
  double         touch; ///< The pick on the string, 0..1
  double         rub, rub_share, rub_low, rub_band, rub_w; ///< Squeak
  int32_t        rub_at, rub_frames;
  double         scrape_low, scrape_high;

  // Consequences
  dispersion_filter dispersion;
  double            tuned_fret; ///< The one `dispersion` is made for
  string_damping    designed;   ///< Those the filters are made for
  double            designed_hz;
  double            base_delay[2]; ///< Without the swing of the string
  bool              sounding;

  // Signal
  string_wave wave[2]; ///< Across the face of the pickup, along
  uint32_t    at;
  uint32_t    phase; ///< Within the control period
  dice        noise;
} plucked_string;

/// Silent, open.  `seed` is for its noises.
void
plucked_string_init(plucked_string*     s,
                    const string_gauge* gauge,
                    pickup_place        pickup,
                    double              rate_hz,
                    uint64_t            seed);

/// Frequency of the first partial now, at rest: fret, tuning, bend and vibrato
double
plucked_string_hz(const plucked_string* s);

/// The pick lands now and lets go `hold_s` later; from now on it is stopped at
/// `fret`, with `cents` of error
void
plucked_string_pluck(plucked_string* s,
                     double          fret,
                     double          cents,
                     string_stroke   stroke);

/// Slide, hammer or pull to a fret within `over_s`, without the pick
void
plucked_string_slide(plucked_string* s, double fret, double over_s);

/// Bend by `cents` within `over_s`
void
plucked_string_bend(plucked_string* s, double cents, double over_s);

/// Vibrato of a fretting finger, which only raises: 0..depth_cents
void
plucked_string_vibrato(plucked_string* s, double depth_cents, double f_hz);

/// Lay hands on the string (0, 0: take them off) within about `over_s`
void
plucked_string_damp(plucked_string* s, string_damping hands, double over_s);

/// A finger rubs along the winding for `over_s`: a squeak of velocity `level`
/// around `f_hz`
void
plucked_string_rub(plucked_string* s, double level, double f_hz, double over_s);

/// Add what the pickup hears, in m/s: `across` and `along` its face, `n` frames
void
plucked_string_process(plucked_string* s,
                       double*         across,
                       double*         along,
                       uint32_t        n);

#endif // PRESETS_DEMO_PLUCKED_STRING_H
