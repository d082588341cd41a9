// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The pieces of a path

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PATH_H
#define PRESETS_DEMO_RENDER_PROGRAM_PATH_H

#include <stddef.h>

/// Length of the folder in front of the last name, its slash included; 0
/// without one
size_t
path_folder_length(const char* path);

/// The last name, a part of `path`
const char*
path_name(const char* path);

/// The last name from its last dot on; its end if there is none
const char*
path_ending(const char* path);

/// Where a name leads that is written in a file, seen from the folder of that
/// file.  To be freed.
char*
path_beside(const char* file, const char* name);

#endif // PRESETS_DEMO_RENDER_PROGRAM_PATH_H
