// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The air that sound travels through, at 20 degrees Celsius

#ifndef COMMON_CORE_AIR_H
#define COMMON_CORE_AIR_H

/// 343.2 m/s at 20 degrees, plus 0.6 m/s per degree (ISO 9613-1:1993, 343.2
/// sqrt(T / 293.15 K)); rounded, as is common practice
#define SPEED_OF_SOUND_M_S 343.0

#endif // COMMON_CORE_AIR_H
