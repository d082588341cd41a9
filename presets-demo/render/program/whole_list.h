// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The list of all files written into a folder: only these may be replaced.
/// Private to whole_folder and whole_part.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H

#include "plugins/text/failure.h"

#include <stdint.h>
#include <sys/stat.h>

/// Folders that nftw() may hold open at once
#define WHOLE_MAX_OPEN 8

/// The file that holds it
#define WHOLE_LIST ".written"

/// Writes the list of a folder: the size of each file, the time of its last
/// change and its name, relative to the folder.  Its files are complete.
/// Returns false with errno if that fails.
bool
whole_list_write(const char* folder, char* const* names, uint32_t n);

/// Writes that of an incomplete folder, into which only this program has
/// written; returns false with errno if that fails
bool
whole_list_begin(const char* folder);

/// Returns true if such a text is of that kind: all in the folder is this
/// program's
bool
whole_list_is_unfinished(const char* list);

/// Returns the text of a folder's list, empty if it has none; free() it
char*
whole_list_read(const char* folder);

/// Returns true if what bears a name is what such a text says was written: the
/// regular file of that size and time, a folder of a listed file, or the list
/// itself.  The contents, which may be gigabytes, are not compared.
bool
whole_list_holds(const char* list, const char* name, const struct stat* s);

/// Removes from a folder all that such a text says was written, and the folder
/// if nothing else is in it.  Follows no links, and allocates nothing.
void
whole_list_remove(const char* folder, const char* list);

/// Returns true if a path is free, or a folder that holds only what its list
/// names (and folders for that), else false with a failure
bool
whole_list_may_replace(const char* path, failure* f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_LIST_H
