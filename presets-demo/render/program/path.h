// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of a path

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PATH_H
#define PRESETS_DEMO_RENDER_PROGRAM_PATH_H

#include <stdbool.h>
#include <stddef.h>

/// Returns the length of the folder before the last name, including its slash;
/// 0 if there is none
size_t
path_folder_length(const char* path);

/// Returns the last name, within `path`
const char*
path_name(const char* path);

/// Returns the last name from its last dot on; its end if there is no dot
const char*
path_ending(const char* path);

/// Returns the path of a `name` that is relative to the folder of `file`;
/// free() it
char*
path_beside(const char* file, const char* name);

/// Returns true if two paths lead to one file, be it by links
bool
path_is_same(const char* a, const char* b);

/// Returns true if a file would be lost with the folder: it, a link on the way
/// to it, or another name (hard link) of it lies in the folder
bool
path_is_within(const char* file, const char* folder);

#endif // PRESETS_DEMO_RENDER_PROGRAM_PATH_H
