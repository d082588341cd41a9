// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// From strings to the interface: magnet, coil, cable, hum, noise, converter.
///
/// The coil is a series L and R, loaded by its own and the cable's capacitance
/// and by the volume potentiometer and the input: a resonant low-pass (H.
/// Lemme; R. Paiva, J. Pakarinen and V. Valimaki, "Acoustics and Modeling of
/// Pickups", JAES 60(10), 2012).  The magnet's field falls with distance, so a
/// string that swings far adds a little of its octave (Paiva et al.; A. Novak
/// et al., Appl. Sci. 7(1):50, 2017).  What the coil gives is the change of
/// flux.  The input blocks DC and cuts rumble.
///
/// Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_PICKUP_H
#define PRESETS_DEMO_GUITAR_PICKUP_H

#include "repeatable.h"
#include "string_design.h"

typedef struct {
  double coil_h, coil_ohm, coil_f; ///< Inductance, resistance, capacitance
  double cable_f;
  double load_ohm; ///< Volume and tone controls with the input in parallel
} pickup_circuit;

/// |output / electromotive force| of the circuit at `f_hz`, in closed form
double
pickup_circuit_gain(const pickup_circuit* c, double f_hz);

/// y = b0 x + b1 x1 + b2 x2 - a1 y1 - a2 y2
typedef struct {
  double b0, b1, b2, a1, a2;
  double s1, s2; // Transposed direct form
} pickup_filter;

/// The circuit as a digital filter.  Its poles are exact; its gain is exact at
/// 0, at the resonance and at half the rate, and within 0.2 dB up to 10 kHz at
/// 48 kHz: M. Vicanek, "Matched Second Order Digital Filters", 2016
pickup_filter
pickup_filter_of(const pickup_circuit* c, double rate_hz);

static inline double
pickup_filter_next(pickup_filter* f, double x)
{
  const double y = f->b0 * x + f->s1;
  f->s1          = f->b1 * x - f->a1 * y + f->s2;
  f->s2          = f->b2 * x - f->a2 * y;
  return y;
}

/// The whole chain after the strings
typedef struct {
  pickup_filter coil;
  pickup_filter low_cut; ///< Of the input, against rumble
  double        rate_hz;
  double        gain;              ///< To full scale
  double        dc, dc_share;      ///< High-pass of the input's coupling
  double        hum_phase, hum_hz; ///< Mains, drifting a little
  double        drift;
  dice          noise;
  double        place_m[N_STRINGS]; ///< Place of each string in the field
} pickup_chain;

void
pickup_chain_init(pickup_chain*         p,
                  const pickup_circuit* circuit,
                  double                gain,
                  double                rate_hz,
                  uint64_t              seed);

/// Adds the electromotive force of one string over `n` frames to `emf`.
/// `across` and `along` are its velocities across and along the face of the
/// pickup, in m/s.
void
pickup_chain_string(pickup_chain* p,
                    uint32_t      string,
                    const double* across,
                    const double* along,
                    double*       emf,
                    uint32_t      n);

/// Writes the signal at the converter, full scale = 1; `emf` and `out` may be
/// the same
void
pickup_chain_process(pickup_chain* p,
                     const double* emf,
                     double*       out,
                     uint32_t      n);

/// Rounds to 24 bit and clips at full scale
int32_t
pickup_quantise(double x);

#endif // PRESETS_DEMO_GUITAR_PICKUP_H
