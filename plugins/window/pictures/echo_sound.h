// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the thickening echo computes: the tone of the echo and
/// what a round on the tape takes, while playing at ECHO_PLAYING_DBFS goes on

#ifndef PLUGINS_WINDOW_PICTURES_ECHO_SOUND_H
#define PLUGINS_WINDOW_PICTURES_ECHO_SOUND_H

#include "picture.h"

#include "common/stages/thickening_echo.h"

enum { ECHO_N_HZ = 90 };

#define ECHO_LOWEST_HZ    50.0
#define ECHO_HIGHEST_HZ   16000.0
#define ECHO_PLAYING_DBFS (-18.0) ///< RMS
#define ECHO_OFF_DB       (-60.0) ///< The wet level that is off

typedef struct {
  float hz[ECHO_N_HZ];
  float echo_db[ECHO_N_HZ];  ///< The echo, wet at 0 dB
  float round_db[ECHO_N_HZ]; ///< What each repeat adds to it, repeats at 100 %
} echo_tone;

thickening_echo_params
echo_params_of(const float* values);

/// Of the tone alone: time, mix and repeats come in where it is drawn
uint32_t
echo_tone_inputs(const picture_view* v, float* inputs);

bool
echo_tone_compute(probe* p, const float* inputs, bool is_coarse, void* result);

/// Writes the tone of an arrival in dB against the dry signal; the first is the
/// echo, 1.  Below -200 where it is off.
void
echo_arrival(const echo_tone*              t,
             const thickening_echo_params* p,
             uint32_t                      arrival,
             float*                        db);

/// Returns its level: of a signal with as much in every octave, from
/// ECHO_LOWEST_HZ to ECHO_HIGHEST_HZ
double
echo_arrival_db(const echo_tone*              t,
                const thickening_echo_params* p,
                uint32_t                      arrival);

#endif // PLUGINS_WINDOW_PICTURES_ECHO_SOUND_H
