// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/tube_stage.h"

#include "shell.h"

const plugin tube_stage_plugin = {
  .stem    = "tube-stage",
  .name    = "Tube stage",
  .summary = "One to three triode gain stages, blended with the dry signal.",
  .type    = "DistortionPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &tube_stage_ops,
  .groups  = {{"drive_db", "Drive"},
              {"bias_pc", "Character"},
              {"blend_pc", "Blend"},
              {"quality", "Quality"}},
  .main    = {"drive_db", "blend_pc", "bias_pc", "bright_db", "stages"},
};
