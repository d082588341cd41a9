// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Levels of every stage of a chain, as lines of text

#ifndef PRESETS_DEMO_RENDER_MEASURE_LEVEL_TABLE_H
#define PRESETS_DEMO_RENDER_MEASURE_LEVEL_TABLE_H

#include "joint_loudness.h"

#include <stdio.h>

/// Prints all stages of `c`, which `l` has measured
void
level_table_print(FILE* out, const chain* c, const joint_loudness* l);

#endif // PRESETS_DEMO_RENDER_MEASURE_LEVEL_TABLE_H
