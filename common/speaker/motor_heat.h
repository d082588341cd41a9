// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Heat in the coil of a loudspeaker, on the control grid.
///
/// The coil warms in seconds, the magnet behind it in minutes: two heat
/// capacities, as in D. Button, "Heat Dissipation and Power Compression in
/// Loudspeakers", J. Audio Eng. Soc. 40, 1992 and W. Klippel, J. Audio Eng.
/// Soc. 52, 2004 (both from memory), with 4 s and 600 s.  Warm copper has more
/// resistance (motor_warm_ohm), so less current flows and the level falls: by
/// up to 2.9 dB without a source impedance, 1.4 dB with the default one.
///
/// Our choice: playing at -9 dBFS RMS leads to 80 K in the end, and no drive to
/// more than 100 K, since an amplifier has a limit too.  Real-time safe.

#ifndef COMMON_SPEAKER_MOTOR_HEAT_H
#define COMMON_SPEAKER_MOTOR_HEAT_H

typedef struct {
  double coil_k, magnet_k; ///< Above cold
} motor_heat;

/// Heats the coil with `power_w` for `time_s`, which is far below a second
void
motor_heat_step(motor_heat* h, double power_w, double time_s);

#endif // COMMON_SPEAKER_MOTOR_HEAT_H
