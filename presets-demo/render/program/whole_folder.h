// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A folder that is written completely or not at all, whatever happens: it
/// grows under another name beside its place, is synced to disk, and gets its
/// own name when it is complete.
///
/// An older one in that place is replaced, but only if all that is in it was
/// written this way: files of the user are never lost.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H

#include "plugins/text/failure.h"

typedef struct whole_folder whole_folder;

/// Returns true if an input is safe when a folder is written to `path`, else
/// false with a failure "lies in ...; expected ...": it would be lost with the
/// older folder
bool
whole_folder_spares(const char* path, const char* file, failure* f);

/// Opens a new folder, whose parent must exist; returns NULL if that is
/// impossible.
whole_folder*
whole_folder_open(const char* path, failure* f);

/// Adds a file to its list and returns the path to write it to; `name` is
/// relative, with at most one folder before it.  The path is valid until the
/// folder is finished or abandoned.
const char*
whole_folder_file(whole_folder* w, const char* name);

/// Gives it its name, and frees `w`; all its files must be closed.  Returns
/// false if that fails: the older folder is still there then, or the new one if
/// only the parent cannot be synced.
bool
whole_folder_finish(whole_folder* w, failure* f);

/// Removes what was written, and frees `w`, which may be NULL
void
whole_folder_abandon(whole_folder* w);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H
