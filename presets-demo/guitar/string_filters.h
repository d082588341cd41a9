// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The filters of one period of a string: losses and stiffness.
///
/// Not for real time.  Everything is computed by repeatable.h.

#ifndef PRESETS_DEMO_GUITAR_STRING_FILTERS_H
#define PRESETS_DEMO_GUITAR_STRING_FILTERS_H

#include "string_design.h"

#define OWN_SHELVES  3
#define LOSS_SHELVES (OWN_SHELVES + 1) ///< The last one is for the hands

/// Losses of one period: x *= gain, then for each shelf x -= depth (x -
/// lowpass)
typedef struct {
  double gain;
  double depth[LOSS_SHELVES];
  double share[LOSS_SHELVES]; ///< Shares of the one-pole low-passes
} loss_filter;

/// The string's own losses: exact at the first partial and at three higher
/// frequencies up to 10 kHz, within a few per cent between them.  `support`
/// scales the loss to the supports.
loss_filter
loss_filter_of(const string_gauge* g,
               double              f1_hz,
               double              support,
               double              rate_hz);

/// The same with hands on the string
loss_filter
loss_filter_damped(const loss_filter* own,
                   double             f1_hz,
                   string_damping     hands,
                   double             rate_hz);

/// Phase delay in frames
double
loss_filter_delay(const loss_filter* l, double f_hz, double rate_hz);

/// Gain at a frequency
double
loss_filter_gain(const loss_filter* l, double f_hz, double rate_hz);

#define MAX_SECTIONS 40

/// Second-order all-passes (a2 + a1 z^-1 + z^-2) / (1 + a1 z^-1 + a2 z^-2),
/// each worth one period of phase, set along the frequency axis where the stiff
/// string needs it: J. Abel and J. Smith, "Robust Design of Very High-Order
/// Allpass Dispersion Filters", DAFx-06.
typedef struct {
  uint32_t n;
  double   a1[MAX_SECTIONS], a2[MAX_SECTIONS];
} dispersion_filter;

/// `loss` is the filter that shares the loop: its delay counts.  The design by
/// bands is the start; then the partials are fitted by least squares (damped
/// Gauss-Newton, J. Nocedal and S. Wright, "Numerical Optimization", 2nd ed.,
/// 2006, chapter 10), to within a cent up to 8 kHz.
dispersion_filter
dispersion_filter_of(double             f1_hz,
                     double             inharmonicity,
                     const loss_filter* loss,
                     double             rate_hz);

/// Phase delay in frames
double
dispersion_filter_delay(const dispersion_filter* d,
                        double                   f_hz,
                        double                   rate_hz);

#endif // PRESETS_DEMO_GUITAR_STRING_FILTERS_H
