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
};
