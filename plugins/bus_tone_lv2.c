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
  .groups  = {{"low_cut_hz", "Low cut"},
              {"mid_body_hz", "Mid"},
              {"side_body_hz", "Sides"},
              {"presence_hz", "Presence"},
              {"width_pc", "Width"}},
  .main    = {"width_pc", "presence_db", "side_body_db", "side_treble_db",
              "mid_body_db"},
};
