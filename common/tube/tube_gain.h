// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One common-cathode triode stage as a circuit that runs in time.
///
///                                          supply
///                                             |
///                                           plate
///                                             |      load_f
///   u --source--coupling_f--(N)--stopper-- [tube] ----||----+---- out
///                            |                |             |
///                          leak          cathode_f       load
///                            |           || cathode         |
///
/// Grid current charges the coupling capacitor (blocking, and its recovery),
/// the cathode follows the mean current, the load's capacitor the mean plate
/// voltage.  A capacitor across the input (Miller effect) rolls off the treble.
///
/// Method: the resistive part is a table of two numbers (tube_table.h).  The
/// capacitors are expected to go on over groups of up to four samples as in the
/// last two groups (Adams-Bashforth), so that the look-ups of a group do not
/// wait for each other; the error of that is corrected to first order, by the
/// slopes that the look-ups found.  Nor does a group wait for its predecessor's
/// correction: the error of its assumed start is corrected along with its own.
/// Nothing iterates, nothing depends on the signal.  The currents are means
/// between samples: the output is half a sample late.
///
/// All voltages are deviations from the operating point, which is zero in
/// silence from the first sample on, and may move (bias, supply) without going
/// through the capacitors.  Polarity is inverted.
///
/// All but tube_gain_init() and tube_rest_find() are real-time safe.

#ifndef COMMON_TUBE_TUBE_GAIN_H
#define COMMON_TUBE_TUBE_GAIN_H

#include "common/core/dsp.h"
#include "tube_table.h"

/// Parts, in ohm, farad.  Each capacitor that the tube's currents charge must
/// have a time constant, with the lowest resistance that it meets, of two
/// groups of samples or more (12AX7 at 64 kHz: cathode_f from 0.2 uF up): the
/// cathode may be practically unbypassed over the bass and the middle, though
/// not at every rate.
typedef struct {
  double plate_ohm;
  double cathode_ohm, cathode_f;
  double source_ohm;
  double coupling_f; ///< 0: no capacitor, source and grid share their ground
  double leak_ohm, stopper_ohm;
  double load_ohm, load_f;
  double input_f; ///< 0: none
} tube_parts;

/// Return the resistances that the table of a stage must be built for
double
tube_parts_grid_ohm(const tube_parts* p);

double
tube_parts_plate_ohm(const tube_parts* p);

/// Returns the time constant of the input capacitance, in s
double
tube_parts_input_s(const tube_parts* p);

/// Operating point, in V and A
typedef struct {
  double vk, va; ///< Cathode and plate against ground
  double ia, ig; ///< Plate and grid current, and ...
  double a, b;   ///< ... where it is in the table: four in a row
} tube_rest;

/// Returns the operating point at `supply_v`, with the cathode lifted by a
/// source of `bias_v` in its lead: colder if above 0.
tube_rest
tube_rest_find(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v);

/// Does the same from the point `from`: one step of Newton's method in two
/// unknowns
tube_rest
tube_rest_near(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v,
               tube_rest         from);

/// A moving operating point: where it was, how much it moves per sample, and
/// how many samples ago that was (so that it does not matter how the samples
/// are cut into blocks)
typedef struct {
  tube_rest at, step;
  uint32_t  samples;
} tube_rest_ramp;

/// Largest group of samples whose capacitors are predicted together
#define TUBE_GROUP_MAX 4

/// Most stages that tube_gain_process() takes at once
#define TUBE_STAGES_MAX 3

/// Most channels
#define TUBE_CHANNELS_MAX 2

/// Which output: the load, or the open-circuit voltage of the source that
/// drives the next stage
typedef enum { TUBE_OUT_LOAD, TUBE_OUT_SOURCE } tube_out;

/// The capacitors that currents of the tube charge, as indices
enum { TUBE_CATHODE = 0, TUBE_COUPLING = 1, TUBE_LOAD = 3 };

/// One number per sample of a group, or the same four times
typedef double tube_lanes[TUBE_GROUP_MAX];

/// Constants of a stage.  Those of capacitors are in their order.  Groups of
/// fewer than four samples are padded with their last one, whose currents and
/// voltages then do not count.
typedef struct {
  // How the linear filters before the grid respond in a group of samples: the
  // grid source by each sample of it, by the sample before it and by the two
  // voltages that the filters hold; and what the first of those becomes
  tube_lanes sample[TUBE_GROUP_MAX]; ///< Column per sample in
  tube_lanes before, low, grid;
  tube_lanes low_by_sample[TUBE_GROUP_MAX], low_by_before, low_by_low;
  tube_lanes limit; ///< Limit of their output

  // The axis of b: its first row, rows per V, V per row
  tube_lanes b_min, rows_per_v, b_step;
  tube_lanes b_by_sums; ///< Motion of b, in turn by load and by currents

  // What a group's mean current or voltage, and their own voltage, adds to
  // capacitors
  tube_lanes charge, leak;
  tube_lanes real; ///< All bits set in samples that are not padding

  // What is taken off the grid source: how the capacitors go on, by their
  // motion in the last group and in the one before it; by currents in a sample,
  // by leaks; the part of the coupling capacitor
  tube_lanes drift_by_rate, drift_by_before, seen_by_rate;
  tube_lanes held_by_ia, held_by_ig, held_by_cathode, held_by_coupling;
  tube_lanes divider;

  // After the plate
  tube_lanes plate, load_share, load_charge, load_by_cap, load_by_rate;
  tube_lanes out_by_cap, out_by_ia;
} tube_fixed;

/// Memory of a stage
typedef struct {
  tube_lanes u, low, grid; ///< Memory of the filters

  // V of the capacitors, and V that they moved in the last group; what they
  // will add to b in the middle of the next
  tube_lanes cap, rate, b_held;

  // Both before the grid together: where they were when the last group began, V
  // that they moved in it, as far as the next group relies on that, and in the
  // one before it
  tube_lanes held, held_rate, held_rate_before;

  // The last group: where the grid source was seen, how far that was above
  // where the capacitors put it, the grid current, the place on its axis
  tube_lanes a, off, ig, off_v, whole;
} tube_memory;

/// A stage, one channel
typedef struct {
  const tube_table* table;
  uint32_t    group_size; ///< Samples that are predicted together: 1, 2 or 4
  tube_fixed  fixed;
  tube_memory memory;
} tube_gain;

/// Prepares a stage.  `out_source_ohm` is that of the source that
/// TUBE_OUT_SOURCE stands for; `group` is 1, 2 or 4.
void
tube_gain_init(tube_gain*        g,
               const tube_table* t,
               const tube_parts* p,
               tube_out          out,
               double            out_source_ohm,
               double            rate_hz,
               uint32_t          group);

/// Puts the stage at rest at the operating point `rest`
void
tube_gain_reset(tube_gain* g, const tube_rest* rest);

/// Runs `n` samples of `n_channels` (1 or 2), in place, through `n_stages`
/// stages in a row: g[k] are those of channel k.  All were made for the same
/// group, of which n is a multiple.  `rest` is the operating point of all at
/// the first sample.
void
tube_gain_process(tube_gain* const*     g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  double* const*        x,
                  uint32_t              n_channels,
                  uint32_t              n);

/// Returns how many numbers fit in the widest registers here that it can use:
/// 2, 4 or 8
uint32_t
tube_gain_lanes(void);

/// Does as tube_gain_process() in registers of `lanes` numbers, at most
/// tube_gain_lanes(): the same bits.  Two lanes are the reference for the
/// others.
void
tube_gain_process_in(uint32_t              lanes,
                     tube_gain* const*     g,
                     uint32_t              n_stages,
                     const tube_rest_ramp* rest,
                     double* const*        x,
                     uint32_t              n_channels,
                     uint32_t              n);

#endif // COMMON_TUBE_TUBE_GAIN_H
