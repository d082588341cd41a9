// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tables of finished sounds: takes and test signals through the track setups

#ifndef TESTS_EARS_EARS_FINISHED_H
#define TESTS_EARS_EARS_FINISHED_H

#include "ears_rig.h"

/// Spectrum, levels, noise and air of a take through every setup; false with a
/// failure
bool
ears_print_finished(const ears_rig* r, const ears_sound* playing, failure* f);

/// Distortion of a sine, and how notes hold their level, in every setup; false
/// with a failure
bool
ears_print_drive(const ears_rig* r, failure* f);

/// Held chords of the model: how bright they are where nothing is picked
bool
ears_print_chords(const ears_rig* r, failure* f);

#endif // TESTS_EARS_EARS_FINISHED_H
