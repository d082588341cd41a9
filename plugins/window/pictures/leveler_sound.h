// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the bus leveler computes: where the cell settles, and
/// how it lets go

#ifndef PLUGINS_WINDOW_PICTURES_LEVELER_SOUND_H
#define PLUGINS_WINDOW_PICTURES_LEVELER_SOUND_H

#include "picture.h"

#include "common/stages/bus_leveler.h"

enum { LEVELER_LEVELS = 49, LEVELER_STEPS = 151 };

#define LEVELER_LOWEST_DBFS (-48.0)
#define LEVELER_RATIO_DBFS  (-3.0) ///< Where the ratio's handle is
#define LEVELER_SHOWN_S     3.0

typedef struct {
  float in_dbfs[LEVELER_LEVELS]; ///< As a sine's peak
  float gain_db[LEVELER_LEVELS]; ///< What is heard, against soft playing
  float soft_gain;               ///< Of soft playing, linear: make-up, blend
  float flat_db, steep_db;       ///< At the handle, with both ends of the ratio
} leveler_law;

typedef struct {
  float t_s[LEVELER_STEPS];
  float soon_db[LEVELER_STEPS]; ///< Minus the reduction, after 1 s
  float late_db[LEVELER_STEPS]; ///< and after 20 s of loud playing
  float half_s, most_s; ///< Half, and nine tenths of soon_db are gone; or NaN
} leveler_release;

bus_leveler_params
leveler_params_of(const float* values);

uint32_t
leveler_law_inputs(const picture_view* v, float* inputs);

bool
leveler_law_compute(probe*       p,
                    const float* inputs,
                    bool         is_coarse,
                    void*        result);

uint32_t
leveler_release_inputs(const picture_view* v, float* inputs);

bool
leveler_release_compute(probe*       p,
                        const float* inputs,
                        bool         is_coarse,
                        void*        result);

#endif // PLUGINS_WINDOW_PICTURES_LEVELER_SOUND_H
