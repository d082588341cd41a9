// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/di_cleanup.h"

#include "shell.h"

const plugin di_cleanup_plugin = {
  .stem    = "di-cleanup",
  .name    = "DI clean-up",
  .summary = "Prepares a dry guitar: gain to a common level, low cut, two "
             "bells, hum notches.",
  .type    = "ParaEQPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &di_cleanup_ops,
  .groups  = {{"gain_db", "Gain"},
              {"low_cut_hz", "Low cut"},
              {"body_hz", "Body"},
              {"presence_hz", "Presence"},
              {"hum", "Noise"}},
  .main    = {"gain_db", "low_cut_hz", "body_db", "presence_db", "hum"},
};
