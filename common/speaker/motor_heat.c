// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "motor_heat.h"

#include <math.h>

// -9 dBFS RMS are 7.1 V, 0.49 A through 14.5 ohm, 1.56 W in 6.5 ohm
#define LOUD_W   1.56
#define LOUD_K   80.0
#define MOST_K   100.0
#define MOST_W   (LOUD_W * MOST_K / LOUD_K)
#define COIL_S   4.0
#define MAGNET_S 600.0

// K/W from coil to magnet and from there to the air, J/K of both
#define TO_MAGNET (0.6 * LOUD_K / LOUD_W)
#define TO_AIR    (0.4 * LOUD_K / LOUD_W)
#define COIL      (COIL_S / TO_MAGNET)
#define MAGNET    (MAGNET_S / TO_AIR)

void
motor_heat_step(motor_heat* h, double power_w, double time_s)
{
  const double over = (h->coil_k - h->magnet_k) / TO_MAGNET;
  const double out  = h->magnet_k / TO_AIR;
  h->coil_k += time_s / COIL * (fmin(power_w, MOST_W) - over);
  h->magnet_k += time_s / MAGNET * (over - out);
}
