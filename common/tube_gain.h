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
  double ia, ig; ///< Plate and grid current
  double a, b;   ///< Where it is in the table
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

/// Which output: the load, or the open-circuit voltage that the next stage's
/// source stands for
typedef enum { TUBE_OUT_LOAD, TUBE_OUT_SOURCE } tube_out;

/// A one-pole filter:  y = pole y + now u + before (u of before)
typedef struct {
  double pole, now, before;
} tube_pole;

/// A place on the axis of a: share of a cell, its width and 1 / width, its
/// number
typedef struct {
  double   share, width, per_width;
  uint32_t cell;
} tube_from;

/// The capacitors that currents of the tube charge, as indices
enum { TUBE_CATHODE, TUBE_COUPLING, TUBE_LOAD };

/// A stage, one channel
typedef struct {
  const tube_table* table;

  // Coefficients, per sample at its rate
  tube_pole coupling_pole; ///< Voltage of that capacitor, linear part
  tube_pole input_pole;    ///< Input capacitance
  double    limit;         ///< Of what comes out of these filters
  double    divider;       ///< From u to a
  double    plate, load_share;
  double    out_load, out_cap; ///< Output from load voltage and its capacitor

  // Capacitors: what a current or voltage adds in a sample, and their leak
  double charge[4], leak[4];

  // Memory
  double    u, low, high, grid; ///< Of the two filters: in, between, out
  double    cap[4], rate[4];    ///< V, and V per sample in the last group
  double    rate_before; ///< Of both in front of the grid, a group earlier
  double    a;           ///< Where the grid source was seen last ...
  double    off;         ///< ... so far above where the capacitors put it
  double    ig;          ///< ... with this grid current
  tube_from from;        ///< ... at this place of its axis
} tube_gain;

/// `out_source_ohm`: of the source that TUBE_OUT_SOURCE stands for
void
tube_gain_init(tube_gain*        g,
               const tube_table* t,
               const tube_parts* p,
               tube_out          out,
               double            out_source_ohm,
               double            rate_hz);

/// Be at rest there
void
tube_gain_reset(tube_gain* g, const tube_rest* rest);

/// `n` samples, in place, through `n_stages` stages in a row.  n is a multiple
/// of `group` (1, 2 or 4).  `rest` is that of all stages at the
/// first sample.
void
tube_gain_process(tube_gain*            g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  uint32_t              group,
                  double*               x,
                  uint32_t              n);

/// The same without wide registers, bit for bit: for machines that have none,
/// and the judge of the other
void
tube_gain_process_plain(tube_gain*            g,
                        uint32_t              n_stages,
                        const tube_rest_ramp* rest,
                        uint32_t              group,
                        double*               x,
                        uint32_t              n);

#endif // COMMON_TUBE_GAIN_H
