// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/plate_send.h"

#include "shell.h"

const plugin plate_send_plugin = {
  .stem    = "plate-send",
  .name    = "Plate send",
  .summary = "Reverberation of a steel plate.",
  .type    = "ReverbPlugin",
  .forms   = FORMS_SEND,
  .ops     = &plate_send_ops,
  .groups  = {{"decay_s", "Decay"},
              {"low_cut_hz", "Tone"},
              {"width_pc", "Width and quality"},
              {"wet_db", "Mix"}},
  .main    = {"wet_db", "decay_s", "predelay_ms", "treble_db"},
};
