// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/thickening_echo.h"

#include "shell.h"

const plugin thickening_echo_plugin = {
  .stem    = "thickening-echo",
  .name    = "Thickening echo",
  .summary = "A short, bright tape echo that thickens without mud.",
  .type    = "DelayPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &thickening_echo_ops,
  .groups  = {{"time_ms", "Echo"}, {"low_cut_hz", "Tape"}, {"wet_db", "Mix"}},
  .main    = {"wet_db", "time_ms", "repeats_pc", "drive_db"},
};
