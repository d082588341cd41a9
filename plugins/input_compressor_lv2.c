// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/input_compressor.h"

#include "shell.h"

const plugin input_compressor_plugin = {
  .stem    = "input-compressor",
  .name    = "Input compressor",
  .summary = "Evens out the playing and softens the pick attack.",
  .type    = "CompressorPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &input_compressor_ops,
  .groups  = {{"threshold_db", "Compression"},
              {"timing", "Timing"},
              {"makeup", "Make-up"},
              {"edge_pc", "Edge and blend"}},
  .main    = {"threshold_db", "ratio", "edge_pc", "blend_pc"},
};
