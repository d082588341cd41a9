// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plate at low cost: a feedback delay network after the chirp of the first
/// wave (plate_chirp.h).
///
/// It has the plate's onset, its decay within 5 %, its level and its band, but
/// not its modes: 0.35 modes per Hz instead of 1.29.  Two inputs, two outputs,
/// no latency.  Real-time safe except for plate_light_init().

#ifndef COMMON_PLATE_PLATE_LIGHT_H
#define COMMON_PLATE_PLATE_LIGHT_H

#include "common/filters/svf.h"
#include "common/reverb/fdn.h"
#include "plate_chirp.h"
#include "plate_decay.h"

/// Waves between the first one and the network, per output
#define PLATE_LIGHT_WAVES 7

/// The last of these waves, and room for it at DSP_MAX_RATE_HZ
#define PLATE_LIGHT_LAST_MS 10
#define PLATE_LIGHT_PAST    4096

/// Room for 0.4 s of lines at DSP_MAX_RATE_HZ
#define PLATE_LIGHT_FRAMES 153600

typedef struct {
  double      rate_hz;
  float       gain;
  plate_decay decay;
  bool        moving; ///< The network still moves to `decay`
  svf         band[2];
  fdn         network;
  uint32_t    wave[2][PLATE_LIGHT_WAVES]; ///< Delays in frames
  tap_line    past[2];                    ///< Past of the inputs
  float       past_line[2][PLATE_LIGHT_PAST + CONTROL_FRAMES];
  plate_chirp chirp;
  float       line[PLATE_LIGHT_FRAMES];
} plate_light;

/// False if lines or delays do not fit into their memory
bool
plate_light_init(plate_light* p, double rate_hz);

/// Sets the losses, from the next grid line on
void
plate_light_set_decay(plate_light* p, const plate_decay* decay);

/// Forgets the signal; jumps to the losses set
void
plate_light_reset(plate_light* p);

/// Does the same with the network's lines empty already: plate_light_size()
/// bytes at `line`
void
plate_light_restart(plate_light* p);

static inline size_t
plate_light_size(const plate_light* p)
{
  return fdn_frames(&p->network) * sizeof(float);
}

/// Takes a line of the control grid, before its frames
void
plate_light_control(plate_light* p);

/// Processes `n` frames, up to the next grid line; out[k] may be in[k].  Levels
/// are those of the modes of plate_list_modes().
void
plate_light_process(plate_light*        p,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n);

#endif // COMMON_PLATE_PLATE_LIGHT_H
