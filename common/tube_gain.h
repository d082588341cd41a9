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
/// last two (Adams-Bashforth), so that the look-ups of a group do not wait for
/// each other; what they did otherwise is put right to first order, by the
/// slopes the look-ups found.  Nothing iterates, nothing depends on the signal.
/// The currents are means between samples: the output is half a sample late.
///
/// All voltages are deviations from the operating point, which is zero in
/// silence from the first sample on, and may move (bias, supply) without going
/// through the capacitors.  Polarity is inverted.
///
/// All but tube_gain_init() and tube_rest_find() are real-time safe.

#ifndef COMMON_TUBE_GAIN_H
#define COMMON_TUBE_GAIN_H

#include "dsp.h"
#include "tube_table.h"

/// Parts, in ohm, farad.  Each capacitor that the tube's currents charge must
/// have a time constant, with the least resistance that it meets, of two groups
/// of samples or more (12AX7 at 64 kHz: cathode_f from 0.2 uF up): the cathode
/// may be as good as unbypassed over the bass and the middle, not at all rates.
typedef struct {
  double plate_ohm;
  double cathode_ohm, cathode_f;
  double source_ohm;
  double coupling_f; ///< 0: no capacitor, source and grid share their ground
  double leak_ohm, stopper_ohm;
  double load_ohm, load_f;
  double input_f; ///< 0: none
} tube_parts;

/// What the table of a stage must be built for
double
tube_parts_grid_ohm(const tube_parts* p);

double
tube_parts_plate_ohm(const tube_parts* p);

/// Time constant of the input capacitance, in s
double
tube_parts_input_s(const tube_parts* p);

/// Operating point, in V and A
typedef struct {
  double vk, va; ///< Cathode and plate against ground
  double ia, ig; ///< Plate and grid current, and ...
  double a, b;   ///< ... where it is in the table: four in a row
} tube_rest;

/// Operating point at a `supply_v`, with the cathode lifted by `bias_v` by a
/// source in its lead: colder if above 0.
tube_rest
tube_rest_find(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v);

/// The same, near the point `from`: two Newton steps
tube_rest
tube_rest_near(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v,
               tube_rest         from);

/// An operating point on the way: where it was, how much it moves per sample,
/// and how many samples ago that was (so that it does not matter in which
/// portions they are counted)
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

/// Which output: the load, or the open-circuit voltage that the next stage's
/// source stands for
typedef enum { TUBE_OUT_LOAD, TUBE_OUT_SOURCE } tube_out;

/// How the linear filters in front of the grid answer in a group of samples:
/// the grid source by each sample of it, by the sample before it and by the two
/// voltages that the filters hold; and what one of those becomes
typedef struct {
  double sample[TUBE_GROUP_MAX][TUBE_GROUP_MAX]; ///< Column per sample in
  double before[TUBE_GROUP_MAX];
  double low[TUBE_GROUP_MAX], grid[TUBE_GROUP_MAX];
  double low_by_sample[TUBE_GROUP_MAX], low_by_before, low_by_low;
} tube_filter;

/// Weights of F, S at both ends of a cell in F and S at a place in it.  One per
/// sample of a group, of which only the last is read again.
typedef struct {
  double   f_rise[TUBE_GROUP_MAX], f_left[TUBE_GROUP_MAX];
  double   f_right[TUBE_GROUP_MAX], s_rise[TUBE_GROUP_MAX];
  double   s_left[TUBE_GROUP_MAX], s_right[TUBE_GROUP_MAX];
  uint32_t cell;
} tube_from;

/// The capacitors that currents of the tube charge, as indices
enum { TUBE_CATHODE, TUBE_COUPLING, TUBE_LOAD };

/// A stage, one channel
typedef struct {
  const tube_table* table;
  uint32_t          group; ///< Samples that are predicted together: 1, 2 or 4

  // Coefficients, per sample at its rate
  tube_filter filter;  ///< Coupling and input capacitance, linear part
  double      limit;   ///< Of what comes out of it
  double      divider; ///< From the source to a
  double      plate, load_share;
  double      out_load, out_cap; ///< Output from load voltage and its capacitor

  // Capacitors: what a current or voltage adds in a sample, and their leak
  double charge[TUBE_GROUP_MAX], leak[TUBE_GROUP_MAX];
  double held_per_ig; ///< What grid current adds in front of the grid

  // Memory
  double u, low, grid;                              ///< Of the filter
  double cap[TUBE_GROUP_MAX], rate[TUBE_GROUP_MAX]; ///< V, V per sample
  double rate_before; ///< Of both in front of the grid, a group earlier

  // The last group: where the grid source was seen, how far that was above
  // where the capacitors put it, the grid current, the place on its axis
  double    a[TUBE_GROUP_MAX], off[TUBE_GROUP_MAX], ig[TUBE_GROUP_MAX];
  tube_from from;
} tube_gain;

/// `out_source_ohm`: of the source that TUBE_OUT_SOURCE stands for.  `group`:
/// 1, 2 or 4.
void
tube_gain_init(tube_gain*        g,
               const tube_table* t,
               const tube_parts* p,
               tube_out          out,
               double            out_source_ohm,
               double            rate_hz,
               uint32_t          group);

/// Be at rest there
void
tube_gain_reset(tube_gain* g, const tube_rest* rest);

/// `n` samples of `n_channels` (1 or 2), in place, through `n_stages` stages in
/// a row: g[k] are those of channel k.  All were made for the same group, of
/// which n is a multiple.  `rest` is that of all at the first sample.
void
tube_gain_process(tube_gain* const*     g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  double* const*        x,
                  uint32_t              n_channels,
                  uint32_t              n);

/// The same without wide registers, bit for bit: for machines that have none,
/// and the judge of the other
void
tube_gain_process_plain(tube_gain* const*     g,
                        uint32_t              n_stages,
                        const tube_rest_ramp* rest,
                        double* const*        x,
                        uint32_t              n_channels,
                        uint32_t              n);

#endif // COMMON_TUBE_GAIN_H
