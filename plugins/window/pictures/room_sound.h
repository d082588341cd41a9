// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the room computes: ringing times and arrivals

#ifndef PLUGINS_WINDOW_PICTURES_ROOM_SOUND_H
#define PLUGINS_WINDOW_PICTURES_ROOM_SOUND_H

#include "picture.h"

#include "common/stages/room_send.h"

enum { ROOM_N_RINGS = 3, ROOM_MOST_MS = 200 };

/// At 250 Hz, 1 and 4 kHz, by 60 dB
typedef struct {
  float decay_s[ROOM_N_RINGS];
} room_rings;

/// Of the left amplifier at the left microphone, near 1 kHz, in dB against the
/// straight sound of the track; times count from there
typedef struct {
  uint32_t n_images, n_ms;
  uint32_t n_mixed;               ///< The first of n_ms with a level
  float    mixing_ms;             ///< From here on the reverberation
  float    top_db;                ///< The largest of all levels
  float    image_ms[ROOM_IMAGES]; ///< [0] is the first
  float    image_db[ROOM_IMAGES];
  float    image_order[ROOM_IMAGES]; ///< Walls hit; the rest is ROOM_ORDERS
  float    ms[ROOM_MOST_MS];
  float    late_db[ROOM_MOST_MS]; ///< Energy of a millisecond; NaN before
} room_arrivals;

room_send_params
room_params_of(const float* values);

/// Returns how far the figure goes: 90 ms, or 200
double
room_shown_ms(const float* values);

uint32_t
room_rings_inputs(const picture_view* v, float* inputs);

bool
room_rings_compute(probe* p, const float* inputs, bool is_coarse, void* result);

uint32_t
room_arrivals_inputs(const picture_view* v, float* inputs);

bool
room_arrivals_compute(probe*       p,
                      const float* inputs,
                      bool         is_coarse,
                      void*        result);

#endif // PLUGINS_WINDOW_PICTURES_ROOM_SOUND_H
