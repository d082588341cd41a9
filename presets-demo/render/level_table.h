// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What every stage of a chain did, as lines of text

#ifndef PRESETS_DEMO_LEVEL_TABLE_H
#define PRESETS_DEMO_LEVEL_TABLE_H

#include "chain.h"

#include <stdio.h>

void
level_table_print(FILE* out, const chain* c);

#endif // PRESETS_DEMO_LEVEL_TABLE_H
