// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The page that plays a take after each stage: the report of a session of one
/// track

#ifndef PRESETS_DEMO_RENDER_TAKE_PAGE_H
#define PRESETS_DEMO_RENDER_TAKE_PAGE_H

#include "rendering.h"

#include <stdio.h>

/// Returns OUT-report.html for OUT.EXT; free() it
char*
take_page_path(const char* out);

/// Plays the recording once more, and prints the page.  Returns false with a
/// failure, an empty one if stopped.
bool
take_page_print(const rendering* r, FILE* page, failure* f);

#endif // PRESETS_DEMO_RENDER_TAKE_PAGE_H
