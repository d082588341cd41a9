// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the plate computes: decays, and how a click dies away

#ifndef PLUGINS_WINDOW_PICTURES_PLATE_SOUND_H
#define PLUGINS_WINDOW_PICTURES_PLATE_SOUND_H

#include "picture.h"

#include "common/stages/plate_send.h"

/// Third-octaves, 63 Hz to 10 kHz; falls by 20, 40 and 60 dB
enum { PLATE_BANDS = 23, PLATE_LINES = 3 };

typedef struct {
  float hz[PLATE_BANDS];
  float decay_s[PLATE_BANDS]; ///< By 60 dB
} plate_decays;

typedef struct {
  float khz[PLATE_BANDS];
  float t_s[PLATE_LINES][PLATE_BANDS]; ///< When a click has fallen so far
} plate_tail;

plate_send_params
plate_params_of(const float* values);

/// Returns the decay that is set at 100 Hz (0), 1 kHz (1) or 10 kHz (2)
double
plate_time_s(const plate_send_params* p, uint32_t handle);

double
plate_longest_s(const plate_send_params* p);

uint32_t
plate_decays_inputs(const picture_view* v, float* inputs);

bool
plate_decays_compute(probe*       p,
                     const float* inputs,
                     bool         is_coarse,
                     void*        result);

uint32_t
plate_tail_inputs(const picture_view* v, float* inputs);

bool
plate_tail_compute(probe* p, const float* inputs, bool is_coarse, void* result);

#endif // PLUGINS_WINDOW_PICTURES_PLATE_SOUND_H
