// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the bus tone computes: the response of the middle and
/// that of the sides

#ifndef PLUGINS_WINDOW_PICTURES_BUS_SOUND_H
#define PLUGINS_WINDOW_PICTURES_BUS_SOUND_H

#include "picture.h"

#include "common/stages/bus_tone.h"

enum { BUS_N_HZ = 160 };

#define BUS_LOWEST_HZ  20.0
#define BUS_HIGHEST_HZ 20000.0
#define BUS_ROW(field) ((int)(offsetof(bus_tone_params, field) / sizeof(float)))

/// The width left at 100 %
typedef struct {
  float hz[BUS_N_HZ];
  float middle_db[BUS_N_HZ];
  float sides_db[BUS_N_HZ];
} bus_curves;

bus_tone_params
bus_params_of(const float* values);

uint32_t
bus_curves_inputs(const picture_view* v, float* inputs);

bool
bus_curves_compute(probe* p, const float* inputs, bool is_coarse, void* result);

/// Returns the gain of the sides over that of the middle at a frequency, linear
double
bus_ratio(const bus_curves* r, double hz);

/// Returns the sides' share of sides and middle, amplitudes that came in alike
double
bus_share(double ratio);

#endif // PLUGINS_WINDOW_PICTURES_BUS_SOUND_H
