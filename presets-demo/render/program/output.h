// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a program prints

#ifndef PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_H
#define PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_H

#include "plugins/text/failure.h"

/// Returns true if all that was printed has reached standard output, else false
/// with a failure
bool
output_is_printed(failure* f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_H
