// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Moving coil and cone, driven by an amplifier through its source impedance.
///
/// Input: the electromotive force e, behind a source of MOTOR_SOURCE_OHM; with
/// another source impedance Rg it is scaled so that current and level in the
/// middle of the band stay.  Output: the acceleration of the cone, to which
/// sound pressure is proportional, scaled to 1 there.  Full scale is 20 V.
///
/// The nonlinear equations
///
///   e       = (Re + Rg) i + Le di/dt + R2 (i - i2) + Bl(x) v
///   L2 di2/dt = R2 (i - i2)
///   M dv/dt = Bl(x) i - K x (1 + (x/xk)^2) - Rm v
///   dx/dt   = v
///   Bl(x)   = Bl / (1 + ((x - x0)/xb)^2)
///
/// run at the outer rate by the midpoint rule, with the spring's quartic energy
/// kept as the square of a state, chi^2 / 2.  All couplings are skew, so the
/// discrete energy law is exact whatever Bl and the spring's slope are: it
/// needs no iteration, and a bounded input cannot make it diverge at any rate.
/// The slopes are taken one frame ahead (x + 1.5 T v), off the critical path.
///
/// Two fixed sections then undo the frequency warping of the midpoint rule,
/// which is linear and concerns the coil alone.  Small signals follow the exact
/// linear response: at 44.1 kHz and up within 0.006 dB to 5 kHz and 0.05 dB to
/// 10 kHz, for every cone and source impedance of this project.
///
/// W. Klippel, "Loudspeaker Nonlinearities", J. Audio Eng. Soc. 54(10), 2006.
/// M. Ducceschi, S. Bilbao, C. J. Webb, "Non-iterative schemes for the
/// simulation of nonlinear audio circuits", DAFx 2021.

#ifndef COMMON_SPEAKER_MOTOR_H
#define COMMON_SPEAKER_MOTOR_H

#include "common/core/lanes.h"
#include "common/filters/eq.h"

/// EMF that a sample of 1.0 stands for
#define MOTOR_FULL_SCALE_V 20.0

/// Input limit, 36 dB above full scale, 1.3 kV: more than any amplifier gives.
/// The spring takes energy in where it returns to its place, and with frames as
/// long as at 8 kHz the cone runs away from 256 on (measured, with signals that
/// push it the way it goes).
#define MOTOR_MOST 64.0F

#define MOTOR_SOURCE_OHM 8.0

/// A driver in its box, cold.  All above 0, except l2_h, x0_m from 0 on.
typedef struct {
  double re_ohm;
  double le_h;         ///< Lossless part of the coil's inductance
  double l2_h, r2_ohm; ///< The part with eddy losses, and their resistance
  double bl;           ///< Force factor, N/A
  double mms_kg;
  double rms, kms; ///< N s/m; N/m, with the air of a closed box
  double x0_m;     ///< Rest position from the middle of the gap
  double xb_m;     ///< Where the force factor has halved
  double xk_m;     ///< Where the stiffness has doubled
} motor_driver;

/// Signal memory, one channel in each lane
typedef struct {
  f64x2 i, i2, v, x, chi; ///< Coil, eddies, velocity, position, spring
  f64x2 stored_emf;       ///< Of the coil and the eddies
  f64x2 bl, slope;        ///< For the coming frame: Bl, dchi/dx,
  f64x2 ye, yt, ym;       ///< i = ye e - yt f, v = yt e + ym f
  f64x2 s[5];             ///< Memory of the two sections
  f64x2 heat;             ///< Sum of i^2 since motor_take_power()
} motor_memory;

/// The midpoint rule's constants for a driver and a rate
typedef struct {
  double t;        ///< Length of a frame
  double momentum; ///< 2 M / t
  double keep_i2, feed_i2;
  double new_emf[3]; ///< The same after a frame, of midpoint i, i, i2
  double curve;      ///< chi = curve x^2 where it belongs
  double stiffen;    ///< Inverse mobility that the spring adds per x^2
  double per_xb;     ///< 1 / xb
  double still;      ///< Inverse mobility without spring and coil
  double scale;      ///< Scale of the output
} motor_rule;

/// Settings and coefficients, shared by channels, and their memory
typedef struct {
  motor_driver driver;
  motor_rule   rule;
  double       rate_hz;
  double       relax;      ///< Share by which chi returns to its place
  double       source_ohm; ///< Rg and Re on the coming grid line
  double       coil_ohm;
  double       iz, diz;     ///< 1 / impedance of a midpoint step; per frame
  double       gain, dgain; ///< Gain of the EMF, for its source
  biquad       restore[2];
  motor_memory memory;
} motor;

/// Settles at a source impedance with a cold coil, and forgets the signal
void
motor_init(motor*              m,
           const motor_driver* driver,
           double              source_ohm,
           double              rate_hz);

/// Forgets the signal; ends the ramps at their targets
void
motor_reset(motor* m);

/// Moves to a source impedance and a resistance of the coil (which rises as it
/// heats), from this grid line to the next
void
motor_push(motor* m, double source_ohm, double coil_ohm);

/// Returns the mean power in the coil of the warmest channel over the `n`
/// frames since the last call
double
motor_take_power(motor* m, uint32_t n);

/// Returns the resistance of the copper at `rise_k` above cold
double
motor_warm_ohm(const motor_driver* driver, double rise_k);

/// Processes `n` frames, up to the next grid line; out[k] may be in[k]
void
motor_process(motor*              m,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n);

/// Designs the two sections that turn the midpoint rule's linear response into
/// the exact one, in magnitude
void
motor_design_restore(const motor_driver* driver,
                     double              source_ohm,
                     double              rate_hz,
                     biquad              restore[2]);

#endif // COMMON_SPEAKER_MOTOR_H
