// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/room_send.h"

#include "shell.h"

const plugin room_send_plugin = {
  .stem    = "room-send",
  .name    = "Room send",
  .summary = "A studio room around the amplifiers, heard by two microphones.",
  .type    = "ReverbPlugin",
  .forms   = FORMS_SEND,
  .ops     = &room_send_ops,
  .groups  = {{"room", "Room"},
              {"distance_m", "Microphones"},
              {"early_db", "Early and late"},
              {"low_cut_hz", "Tone"},
              {"wet_db", "Mix"}},
  .main    = {"wet_db", "room", "distance_m"},
};
