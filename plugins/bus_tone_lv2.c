// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/bus_tone.h"

#include "shell.h"

const plugin bus_tone_plugin = {
  .stem    = "bus-tone",
  .name    = "Bus tone",
  .summary = "Equaliser for a stereo bus, in mid and side.",
  .type    = "MultiEQPlugin",
  .forms   = FORMS_BUS,
  .ops     = &bus_tone_ops,
};
