// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/proximity_lift.h"

#include "shell.h"

const plugin proximity_lift_plugin = {
  .stem    = "proximity-lift",
  .name    = "Proximity lift",
  .summary = "Close-microphone bass, and a lift of quiet details.",
  .type    = "SimulatorPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &proximity_lift_ops,
  .groups  = {{"distance_cm", "Microphone"}, {"lift_db", "Detail"}},
  .main    = {"distance_cm", "lift_db", "pattern"},
};
