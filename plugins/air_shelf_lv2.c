// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/air_shelf.h"

#include "shell.h"

const plugin air_shelf_plugin = {
  .stem    = "air-shelf",
  .name    = "Air shelf",
  .summary = "Lifts or lowers presence and the top octave.",
  .type    = "EQPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &air_shelf_ops,
  .groups  = {{"presence_hz", "Presence"}, {"air_hz", "Air"}},
  .main    = {"air_db", "presence_db"},
};
