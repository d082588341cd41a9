// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A studio room: how long it rings, and who stands where.
///
/// Three sets of walls in a room of 5.6 x 4.3 x 2.8 m, made of areas of known
/// materials; other volumes keep the proportions.  Reverberation by Eyring's
/// formula from the absorption coefficients in D. A. Bies, C. H. Hansen, C. Q.
/// Howard, "Engineering Noise Control" (5th ed., 2017), table 6.2.  All
/// real-time safe.

#ifndef COMMON_ROOM_ROOM_H
#define COMMON_ROOM_ROOM_H

#include "common/reverb/absorption.h"
#include "image_source.h"

typedef enum { ROOM_CONTROL, ROOM_TREATED, ROOM_LIVE } room_kind;

/// Volume of the room that the materials were laid out for
#define ROOM_VOLUME_M3 67.424

/// Returns the length of an edge, relative to that room's
double
room_scale(double volume_m3);

/// Returns the reverberation of the room of ROOM_VOLUME_M3.  At another volume
/// all times grow with room_scale(): the same walls are hit less often.
decay_law
room_decay(room_kind kind);

/// Returns the law with all times multiplied
decay_law
room_stretch(decay_law law, double times);

/// Returns the mean time from one wall to the next: 4 V / (c S)
double
room_mean_path_s(double volume_m3);

/// Returns the time from which single reflections cannot be told apart:
/// 20 V/S + 12 ms after the sound left (A. Lindau, L. Kosanke, S. Weinzierl, J.
/// Audio Eng. Soc. 60 (2012) 887)
double
room_mixing_s(double volume_m3);

/// Returns the share of the energy that the reverberation has taken over from
/// the single reflections, `time_s` after the sound left: all of it at the
/// mixing time
double
room_splice(double volume_m3, double time_s);

/// The same for many times in one room
typedef struct {
  double mixing_s, length_s;
} room_rise;

room_rise
room_rise_of(double volume_m3);

double
room_risen(const room_rise* r, double time_s);

/// Two amplifiers (left and right input) and a pair of omnidirectional
/// microphones in front of them.  Nothing gets closer to a wall than 0.15 m.
typedef struct {
  point_m size;
  point_m source[2];
  point_m microphone[2];
  double  distance_m; ///< From the middle of the amplifiers to that of the pair
} room_layout;

room_layout
room_layout_of(double volume_m3, double distance_m, double spacing_m);

#endif // COMMON_ROOM_ROOM_H
