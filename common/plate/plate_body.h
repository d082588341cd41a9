// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plate in its two qualities, and the change from one to the other.
///
/// The quality that was chosen opens within 20 ms, input and output; the input
/// of the other one closes as fast, and its sound rings out for 0.4 s.  A
/// quality that is not heard only follows the decay.  Real-time safe except for
/// plate_body_init().

#ifndef COMMON_PLATE_PLATE_BODY_H
#define COMMON_PLATE_PLATE_BODY_H

#include "plate_light.h"
#include "plate_modes.h"

typedef enum {
  PLATE_FULL, ///< All modes
  PLATE_LIGHT,
} plate_quality;

/// One of the two qualities, coming or going
typedef struct {
  bool   chosen, running;
  double gate, sound; ///< 0 to 1: how far its input and its output are open
  ramp   gate_ramp, sound_ramp;
} plate_voice;

typedef struct {
  double      rate_hz;
  plate_voice voice[2];
  plate_modes modes;
  plate_light light;
} plate_body;

bool
plate_body_init(plate_body* p, double rate_hz);

/// Chooses a quality, from the next grid line on
void
plate_body_choose(plate_body* p, plate_quality quality);

void
plate_body_set_decay(plate_body* p, const plate_decay* decay);

/// Forgets the signal; jumps to the quality and the decay set
void
plate_body_reset(plate_body* p);

/// Does the same with memory that is empty already: plate_modes_size() and
/// plate_light_size()
void
plate_body_restart(plate_body* p);

/// Takes a line of the control grid, before its frames
void
plate_body_control(plate_body* p);

/// Processes `n` frames, up to the next grid line; out[k] may not be in[k]
void
plate_body_process(plate_body*         p,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n);

#endif // COMMON_PLATE_PLATE_BODY_H
