// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Bass of a directional microphone close to its source.
///
/// Close to a source the particle velocity rises towards low frequencies, and a
/// microphone hears it by the share of velocity in its pattern.  Relative to
/// the far field that is 1 + wp/s: 6 dB per octave below one corner.  In front
/// of a piston of radius a the source never seems nearer than sqrt(z^2 + a^2).
///
/// L. L. Beranek, T. J. Mellow, "Acoustics: Sound Fields and Transducers",
/// 2012; J. Eargle, "Electroacoustical Reference Data", 1994, secs. 87 and 88.
/// The piston's radius as a floor of the distance: computed from the field on
/// the axis of a rigid piston in a baffle.
///
/// The microphone's own lower end turns 1 + wp/s into (s + wp)/(s + wl), which
/// is 1 + (fp/fl - 1) LP(s) with a pole that never moves: distance and pattern
/// only scale it, so nothing can ring or click.  Real-time safe.

#ifndef COMMON_SPEAKER_MIC_NEAR_FIELD_H
#define COMMON_SPEAKER_MIC_NEAR_FIELD_H

#include "common/core/air.h"
#include "common/core/dsp.h"

/// Returns the corner of the lift, in Hz, on axis.  `pressure_share` is 1 for
/// an omni, 0.5 for a cardioid, 0 for a figure-8.
static inline double
mic_near_field_corner_hz(double pressure_share,
                         double distance_m,
                         double radius_m)
{
  const double r = sqrt(distance_m * distance_m + radius_m * radius_m);
  return (1.0 - pressure_share) * SPEED_OF_SOUND_M_S / (2.0 * DSP_PI * r);
}

/// The mix for one setting: out = direct * in + low * low-pass(in)
typedef struct {
  double direct, low;
} mic_near_field_mix;

/// Returns the mix, within 0.014 dB of the analog curve up to 20 kHz for
/// corners to 2.8 kHz at 44.1 kHz, 0.05 dB for the highest corner there is
/// (figure-8 at 1 cm).
static inline mic_near_field_mix
mic_near_field_mix_of(double corner_hz, double low_end_hz, double rate_hz)
{
  // A bilinear pole loses what the analog curve still has near Nyquist; 1.4
  // times the loss at Nyquist spreads the error evenly (computed)
  const double x = corner_hz / (0.5 * rate_hz);
  const double d = 1.4 * (sqrt(1.0 + x * x) - 1.0);
  return (mic_near_field_mix){1.0 + d, corner_hz / low_end_hz - 1.0 - d};
}

/// The low-pass at the microphone's low end, one channel.  Double, because its
/// pole is very close to 1.
typedef struct {
  double gain; ///< g / (1 + g), g = tan(pi f / rate)
  double z;
} mic_near_field_pole;

static inline void
mic_near_field_pole_init(mic_near_field_pole* p,
                         double               low_end_hz,
                         double               rate_hz)
{
  const double g = steady_tan(DSP_PI * low_end_hz / rate_hz);
  p->gain        = g / (1.0 + g);
  p->z           = 0.0;
}

static inline double
mic_near_field_pole_next(mic_near_field_pole* p, double x)
{
  const double low = (1.0 - p->gain) * p->z + p->gain * x;
  p->z             = (1.0 - 2.0 * p->gain) * p->z + 2.0 * p->gain * x;
  return low;
}

#endif // COMMON_SPEAKER_MIC_NEAR_FIELD_H
