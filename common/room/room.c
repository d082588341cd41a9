// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room.h"

#include "common/core/air.h"

static const point_m room_m     = {5.6, 4.3, 2.8};
static const double  surface_m2 = 103.6;

// Areas in m^2 of mineral wool 100 and 50 mm (16 kg/m^3), carpet on underlay,
// heavy velour, wood floor, window, door and gypsum board, our choice:
//
//   control  34  0  2  2  22.1  2  2  39.5
//   treated  13 10  8  4  16.1  2  2  48.5
//   live      3  2  4  0  20.1  2  2  70.5
//
// and the laws that come closest to Eyring's times from 125 Hz to 4 kHz, as
// decays measured in octave bands show them (least squares, computed): within
// 2 %.  Below 100 Hz they are free; of equals, those that ask less of the
// shelves.
static const decay_law laws[] = {
  [ROOM_CONTROL] = {0.600, 0.2280, 0.2035, 84.1, 589.0},
  [ROOM_TREATED] = {0.255, 0.4406, 0.2429, 60.0, 553.0},
  [ROOM_LIVE]    = {0.320, 1.1389, 0.6065, 140.1, 1491.0},
};

#define WALL_GAP_M 0.15

double
room_scale(double volume_m3)
{
  return steady_pow(volume_m3 / ROOM_VOLUME_M3, 1.0 / 3.0);
}

decay_law
room_decay(room_kind kind)
{
  return laws[kind];
}

decay_law
room_stretch(decay_law law, double times)
{
  law.low_s *= times;
  law.mid_s *= times;
  law.high_s *= times;
  return law;
}

double
room_mean_path_s(double volume_m3)
{
  const double reference = 4.0 * ROOM_VOLUME_M3 / surface_m2;
  return room_scale(volume_m3) * reference / SPEED_OF_SOUND_M_S;
}

double
room_mixing_s(double volume_m3)
{
  const double v_per_s = room_scale(volume_m3) * ROOM_VOLUME_M3 / surface_m2;
  return 0.020 * v_per_s + 0.012;
}

double
room_splice(double volume_m3, double time_s)
{
  const room_rise rise = room_rise_of(volume_m3);
  return room_risen(&rise, time_s);
}

room_rise
room_rise_of(double volume_m3)
{
  return (room_rise){room_mixing_s(volume_m3), 0.010 * room_scale(volume_m3)};
}

double
room_risen(const room_rise* r, double time_s)
{
  // The rise of a network after its diffusers, within 0.05 (computed)
  const double before = r->mixing_s - time_s;
  const double x      = clampd(1.0 - before / r->length_s, 0, 1.1);
  return smoothstepd(x / 1.1);
}

static point_m
moved(point_m a, double share, point_m by)
{
  return (point_m){a.x + share * by.x, a.y + share * by.y, a.z + share * by.z};
}

static point_m
kept_inside(point_m a, point_m size)
{
  return (point_m){clampd(a.x, WALL_GAP_M, size.x - WALL_GAP_M),
                   clampd(a.y, WALL_GAP_M, size.y - WALL_GAP_M),
                   clampd(a.z, WALL_GAP_M, size.z - WALL_GAP_M)};
}

room_layout
room_layout_of(double volume_m3, double distance_m, double spacing_m)
{
  // Off every axis of symmetry, so that few images arrive together and no band
  // cancels in mono: found by random search, computed
  static const point_m towards_pair = {0.97758, -0.07821, 0.19552};
  static const point_m left_half    = {-0.00695, 0.49668, -0.05712};
  static const point_m left_source  = {-0.145, 0.657, 0.171};
  static const point_m right_source = {0.055, -0.414, -0.060};

  const double  s    = room_scale(volume_m3);
  const point_m size = {s * room_m.x, s * room_m.y, s * room_m.z};

  // Amplifiers stand on the floor of any room
  const point_m amplifiers = {s * 1.9, s * 2.1, 1.1};
  const point_m pair =
    kept_inside(moved(amplifiers, distance_m, towards_pair), size);
  const point_m gap = moved(pair, -1.0, amplifiers);
  return (room_layout){
    .size       = size,
    .source     = {kept_inside(moved(amplifiers, s, left_source), size),
                   kept_inside(moved(amplifiers, s, right_source), size)},
    .microphone = {kept_inside(moved(pair, spacing_m, left_half), size),
                   kept_inside(moved(pair, -spacing_m, left_half), size)},
    .distance_m = sqrt(gap.x * gap.x + gap.y * gap.y + gap.z * gap.z),
  };
}
