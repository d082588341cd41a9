// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A folder that is there as a whole or not at all: it grows under another name
/// beside its place and gets its own when it is complete.
///
/// An older one in that place is replaced, but only if all that is in it was
/// written this way: nobody's own files are lost.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_FOLDER_H
#define PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_FOLDER_H

#include "failure.h"

typedef struct output_folder output_folder;

/// NULL if there can be no such folder.  Its parent must exist.
output_folder*
output_folder_open(const char* path, failure* f);

/// Where to write a file of it, and note that it is part of it; `name` is
/// relative, with at most one folder in front.  Valid until the folder is
/// finished or abandoned.
const char*
output_folder_file(output_folder* o, const char* name);

/// Give it its name, and free `o`.  False if that fails; what was there before
/// is there still then.
bool
output_folder_finish(output_folder* o, failure* f);

/// Remove what was written, and free `o`
void
output_folder_abandon(output_folder* o);

#endif // PRESETS_DEMO_RENDER_PROGRAM_OUTPUT_FOLDER_H
