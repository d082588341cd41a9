// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A folder that is there as a whole or not at all, whatever happens: it grows
/// under another name beside its place, is brought to the disk, and gets its
/// own name when it is complete.
///
/// An older one in that place is replaced, but only if all that is in it was
/// written this way: nobody's own files are lost.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H

#include "failure.h"

typedef struct whole_folder whole_folder;

/// NULL if there can be no such folder.  Its parent must exist.
whole_folder*
whole_folder_open(const char* path, failure* f);

/// Where to write a file of it, and note that it is part of it; `name` is
/// relative, with at most one folder in front.  Valid until the folder is
/// finished or abandoned.
const char*
whole_folder_file(whole_folder* w, const char* name);

/// Give it its name, and free `w`; all its files must be closed.  False if that
/// fails: what was there before is there still then, or, if the parent cannot
/// be brought to the disk, the new folder.
bool
whole_folder_finish(whole_folder* w, failure* f);

/// Remove what was written, and free `w`, which may be NULL
void
whole_folder_abandon(whole_folder* w);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FOLDER_H
