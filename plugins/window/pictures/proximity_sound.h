// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the proximity lift computes: the bass of a distance, and
/// the lift of each level

#ifndef PLUGINS_WINDOW_PICTURES_PROXIMITY_SOUND_H
#define PLUGINS_WINDOW_PICTURES_PROXIMITY_SOUND_H

#include "picture.h"

#include "common/stages/proximity_lift.h"

enum { NEAR_N_HZ = 100, DETAIL_N = 49 };

#define NEAR_LOWEST_HZ     20.0
#define NEAR_HIGHEST_HZ    2000.0
#define NEAR_FAR_CM        25.0F ///< The two that are shown for comparison
#define NEAR_FARTHEST_CM   100.0F
#define DETAIL_LOWEST_DBFS (-96.0)

/// Without the detail lift
typedef struct {
  float hz[NEAR_N_HZ];
  float db[NEAR_N_HZ];
  float far_db[NEAR_N_HZ];      ///< At NEAR_FAR_CM
  float farthest_db[NEAR_N_HZ]; ///< At NEAR_FARTHEST_CM
} near_bass;

typedef struct {
  float dbfs[DETAIL_N]; ///< Of a tone, RMS
  float db[DETAIL_N];
  float rest_db; ///< Where nothing is lifted: what keeps loud playing as loud
} detail_law;

proximity_lift_params
proximity_params_of(const float* values);

uint32_t
near_bass_inputs(const picture_view* v, float* inputs);

bool
near_bass_compute(probe* p, const float* inputs, bool is_coarse, void* result);

uint32_t
detail_law_inputs(const picture_view* v, float* inputs);

bool
detail_law_compute(probe* p, const float* inputs, bool is_coarse, void* result);

#endif // PLUGINS_WINDOW_PICTURES_PROXIMITY_SOUND_H
