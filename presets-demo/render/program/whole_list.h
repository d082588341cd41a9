// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The list of all files written into a folder: only these may be replaced.
/// Private to whole_folder and whole_part.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H

#include "failure.h"

#include <stdint.h>

/// Folders that nftw() may hold open at once
#define WHOLE_MAX_OPEN 8

/// The file that holds it
#define WHOLE_LIST ".written"

/// Writes names relative to the folder, one a line
bool
whole_list_write(const char* path, char* const* names, uint32_t n);

/// Returns the text of a folder's list, empty if it has none; free() it
char*
whole_list_read(const char* folder);

/// Returns true if a name is in such a text, or is that of the list itself
bool
whole_list_holds(const char* list, const char* name);

/// Returns true if a path is free, or a folder that holds only what its list
/// names (and folders for that), else false with a failure
bool
whole_list_may_replace(const char* path, failure* f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
