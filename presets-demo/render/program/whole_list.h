// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The list in a folder of all that was written into it: only that may be
/// replaced.  Private to whole_folder and whole_part.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H

#include "failure.h"

#include <stdint.h>

/// Folders that nftw() may hold open at once
#define WHOLE_MAX_OPEN 8

/// The file that holds it
#define WHOLE_LIST ".written"

/// Names relative to the folder, one a line
bool
whole_list_write(const char* path, char* const* names, uint32_t n);

/// The text of the list of a folder, empty if it has none.  To be freed.
char*
whole_list_read(const char* folder);

/// Whether a name is in such a text, or is that of the list itself
bool
whole_list_holds(const char* list, const char* name);

/// Whether a path is free, or a folder that holds nothing but what its list
/// names (and folders of that); false with a line
bool
whole_list_may_replace(const char* path, failure* f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
