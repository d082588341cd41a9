// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/bus_leveler.h"

#include "shell.h"

const plugin bus_leveler_plugin = {
  .stem    = "bus-leveler",
  .name    = "Bus leveler",
  .summary = "Evens the level of a bus slowly, by the law of a "
             "light-dependent resistor.",
  .type    = "CompressorPlugin",
  .forms   = FORMS_BUS,
  .ops     = &bus_leveler_ops,
  .groups  = {{"threshold_db", "Compression"},
              {"speed_pc", "Timing"},
              {"low_cut_hz", "Detector"},
              {"makeup", "Make-up"},
              {"blend_pc", "Blend"}},
  .main    = {"threshold_db", "ratio", "speed_pc", "blend_pc"},
};
