// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/stages/speaker_breakup.h"

#include "shell.h"

const plugin speaker_breakup_plugin = {
  .stem    = "speaker-breakup",
  .name    = "Speaker breakup",
  .summary = "A guitar loudspeaker in its cabinet that breaks up when played "
             "hard.",
  .type    = "SimulatorPlugin",
  .forms   = FORMS_TRACK,
  .ops     = &speaker_breakup_ops,
  .groups  = {{"drive_db", "Breakup"},
              {"attack_ms", "Follower"},
              {"cone", "Loudspeaker"},
              {"quality", "Quality"}},
  .main    = {"breakup_db", "mix_pc", "drive_db", "cone", "off_axis_pc"},
};
