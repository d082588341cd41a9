// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bundle and the track setups, and playing sounds through them as the
/// renderer does

#ifndef TESTS_EARS_EARS_RIG_H
#define TESTS_EARS_EARS_RIG_H

#include "ears_sound.h"
#include "presets-demo/render/host/host.h"
#include "presets-demo/render/setup/setup.h"

typedef enum {
  EARS_RHYTHM,
  EARS_HEAVY,
  EARS_LEAD,
  EARS_SOLO,
  EARS_CLEAN,
  EARS_ACOUSTIC,
  EARS_N_SETUPS
} ears_setup;

typedef struct {
  catalogue parts;
  host*     host;
  setup     setups[EARS_N_SETUPS];
} ears_rig;

/// "rhythm" ...
const char*
ears_setup_name(ears_setup which);

/// False with a line; close it either way
bool
ears_rig_open(ears_rig*   r,
              const char* bundle_folder,
              const char* setup_folder,
              failure*    f);

void
ears_rig_close(ears_rig* r);

/// Gain in dB that brings a take to where the stages expect it, as
/// `align = yes` has it; NAN with a failure
double
ears_align_db(const ears_rig*   r,
              ears_setup        which,
              const ears_sound* in,
              failure*          f);

/// A control of a setup, to be moved; NULL without that stage
float*
ears_control(const ears_rig* r,
             ears_setup      which,
             const char*     stem,
             const char*     symbol);

/// How many stages stand in front of the loudspeaker, or of the microphone
/// where there is none
uint32_t
ears_stages_before_speaker(const ears_rig* r, ears_setup which);

/// Play a sound through the first `n_stages` of a setup, or through all there
/// are.  As long as it was, the latency taken out; nothing with a failure.
ears_sound
ears_play(const ears_rig*   r,
          ears_setup        which,
          uint32_t          n_stages,
          double            gain_db,
          const ears_sound* in,
          failure*          f);

#define EARS_ALL_STAGES UINT32_MAX

/// Play through stages with settings of their own, otherwise alike
ears_sound
ears_play_stages(const ears_rig*      r,
                 const part_settings* stages,
                 uint32_t             n_stages,
                 double               gain_db,
                 const ears_sound*    in,
                 failure*             f);

#endif // TESTS_EARS_EARS_RIG_H
