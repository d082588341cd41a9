// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A preamplifier: one to three triode stages in a row, run at a multiple of
/// the sample rate, one or two channels with one power supply.
///
/// Circuit (our choice of common parts): 12AX7, supply 250 V, plate 100 kohm,
/// cathode 1.5 kohm with 1 uF in the first stage, 22 uF in the others; the
/// first grid direct-coupled through 68 kohm, the others through 6.8 nF and a
/// divider to a tenth; input capacitances by the Miller effect.  Every tube
/// sees the same resistances, so all share one table.
///
/// Between two stages the plate is the source of the next grid's network.  Its
/// source resistance does not matter until grid current flows, and then the
/// divider's 560 kohm keeps it from loading the plate by much.
///
/// All channels load the supply: it falls with the mean of the rectified
/// output, of which 50 V is full, and sags and recovers with a time constant of
/// 80 ms (our choice).
///
/// Real-time safe except for tube_voice_prepare().

#ifndef COMMON_TUBE_TUBE_VOICE_H
#define COMMON_TUBE_TUBE_VOICE_H

#include "common/filters/one_pole.h"
#include "common/filters/oversample.h"
#include "tube_gain.h"
#include "tube_repair.h"

/// Supply without signal
#define TUBE_SUPPLY_V 250.0

/// Output resistance of the plate circuit while the next grid draws current.
/// The plate is high then, the tube nearly cut off: between the 39.7 kohm at
/// rest and the plate resistor.  Chosen against the differential equations of
/// two coupled stages, all harmonics within 0.12 dB up to 40 dB of overdrive.
#define TUBE_PLATE_SOURCE_OHM 75e3

/// Parts of the first stage, and of those after it, whose source is the plate
/// before
extern const tube_parts tube_voice_first_parts, tube_voice_later_parts;

/// One channel
typedef struct {
  oversampler        over;
  tube_gain          gain[TUBE_STAGES_MAX];
  tube_repair_memory repair;
} tube_voice_channel;

/// Flat state
typedef struct {
  double   rate_hz;
  uint32_t n_channels, n_stages, factor, group;

  double bias_v; ///< Setting: lift of the cathodes

  // Coefficients
  double      pad; ///< Before the first grid
  double      supply_share;
  one_pole    load;
  tube_repair repair;

  // Memory
  double             supply_v;
  one_pole_memory    load_v; ///< Smoothed |output|
  tube_rest          rest;   ///< At the next grid line
  tube_rest_ramp     ramp;   ///< Towards it
  tube_voice_channel channel[MAX_CHANNELS];
} tube_voice;

/// Builds what all voices of a process share, on the first call.  Not for the
/// audio thread (tens of ms).
void
tube_voice_prepare(void);

/// Prepares a voice, at rest at `bias_v`.  n_stages: 1 to TUBE_STAGES_MAX;
/// factor: 1, 2, 4 or 8.  tube_voice_prepare() must have been called.
void
tube_voice_init(tube_voice* v,
                double      rate_hz,
                uint32_t    n_channels,
                uint32_t    n_stages,
                uint32_t    factor,
                double      bias_v);

/// Takes a grid line and the settings; moves the supply and the operating
/// point.  `sag_v` is how far the supply falls under full output.
void
tube_voice_control(tube_voice* v, double bias_v, double sag_v);

/// Takes V at the last grid, as long as nothing overdrives; writes V at the
/// output, in phase with the input (an odd number of stages is inverted).  n up
/// to the next grid line; out[k] may be in[k].
void
tube_voice_process(tube_voice*         v,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n);

/// Returns the delay of tube_voice_process(), for any number of stages: that of
/// the treble, within half a frame from 2.5 to 5 kHz at 48 kHz
uint32_t
tube_voice_latency_frames(uint32_t factor, double rate_hz);

#endif // COMMON_TUBE_TUBE_VOICE_H
