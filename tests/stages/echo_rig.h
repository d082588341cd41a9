// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// An echo to listen to

#ifndef TESTS_STAGES_ECHO_RIG_H
#define TESTS_STAGES_ECHO_RIG_H

#include "tests/support/promises.h"

#include "common/core/denormals.h"
#include "common/stages/thickening_echo.h"

#define RATE_HZ 48000.0

enum { N = 96000 };

static float in[N], out[N];

/// The echo alone, at its own level, once, without flutter, with all its bass,
/// on tape that is far from full
static inline rig
plain_echo(double rate_hz)
{
  rig r = rig_open(&thickening_echo_ops, rate_hz, 1, NULL);
  rig_set(&r, "dry", 1.0);
  rig_set(&r, "wet_db", 0.0);
  rig_set(&r, "repeats_pc", 0.0);
  rig_set(&r, "flutter_pc", 0.0);
  rig_set(&r, "low_cut_hz", 20.0);
  rig_set(&r, "lift_db", 0.0);
  rig_set(&r, "drive_db", 0.0);
  return r;
}

static inline void
run(rig* r)
{
  const fp_mode mode = denormals_flush();
  rig_run(r, in, out, N);
  denormals_restore(mode);
}

#endif // TESTS_STAGES_ECHO_RIG_H
