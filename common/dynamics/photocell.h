// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A light-dependent resistor that turns a signal down: static law and motion.
///
/// The state is n, the conductance of the cell times the resistance in series
/// with the signal; the gain is 1 / (1 + n).  Carriers recombine alone and in
/// pairs, so that
///
///   dn/dt = (n_t - n) (a + b (n + n_t))
///
/// towards the equilibrium n_t: quick while much light falls on the cell, and
/// an exponential tail with 1/a at the end (Annalen der Physik 1952, doi
/// 10.1002/andp.19524450607: rise of tanh form, hyperbolic, then exponential
/// decay).  The step used here is the exact solution for constant n_t, hence
/// stable at any rate.  A memory of past light slows the tail: it moves a,
/// which leaves the equilibrium alone.
///
/// The law is that of a cell lit by the output, n = s (y / T)^p with y = x /
/// (1 + n), solved once for x, so that it runs forward without a loop.  p is
/// the exponent of the cell, 1 + p the asymptotic ratio; s makes the reduction
/// 1 dB where the output is at the threshold.
///
/// Real-time safe.

#ifndef COMMON_DYNAMICS_PHOTOCELL_H
#define COMMON_DYNAMICS_PHOTOCELL_H

#include "common/core/dsp.h"

/// Writes the equilibrium n_t for `n` levels in dB re threshold, -200 to 200,
/// at exponents p = asymptotic ratio - 1 of 0.5 to 5, one per frame.  Three
/// Newton steps in a loop that fills registers: within 0.001 dB of reduction.
void
photocell_law(const float* level_db, const float* p, float* n_t, uint32_t n);

/// Returns the gain reduction in dB at one level, computed the same way
double
photocell_law_db(double level_db, double p);

/// Rates of the cell; times scale with 1 / speed
typedef struct {
  double a_min, a_max; ///< 1/s, of the tail: with a full memory and without
  double b;            ///< 1/s, of pairs
  double m0;           ///< Half-way point of the memory, in n
  double fill_s, empty_s;
} photocell_rates;

/// Our choice, within what is published of such cells; see photocell.c
extern const photocell_rates photocell_default_rates;

typedef struct {
  double          rate_hz;
  photocell_rates rates;
  double          speed;
  bool            has_memory;
  double          n, scale; ///< State is n / scale
  uint32_t frames; ///< Frames since scale was 1: less than CONTROL_FRAMES
  double   m;      ///< Memory
  double   a, b;   ///< Rates now
} photocell;

void
photocell_init(photocell* c, double rate_hz, photocell_rates rates);

void
photocell_set(photocell* c, double speed, bool has_memory);

/// Forgets the light: the cell has been in the dark for long
void
photocell_reset(photocell* c);

/// Moves the memory; call on each line of the control grid
void
photocell_control(photocell* c);

/// Follows `n` targets; `gain` gets 1 / (1 + n).  n is at most CONTROL_FRAMES.
void
photocell_run(photocell* c, const float* n_t, float* gain, uint32_t n);

static inline double
photocell_n(const photocell* c)
{
  return c->n / c->scale;
}

#endif // COMMON_DYNAMICS_PHOTOCELL_H
