// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/bus_leveler.h"

#include "shell.h"

const plugin bus_leveler_plugin = {
  .stem = "bus-leveler",
  .name = "Bus leveler",
  .summary =
    "Evens the level of a bus slowly, as a light-dependent resistor does.",
  .type  = "CompressorPlugin",
  .forms = FORMS_BUS,
  .ops   = &bus_leveler_ops,
};
