// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What whole_file and whole_folder have in common, and is private to them

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H

#include "failure.h"

#include <sys/types.h>

/// Pattern for mkstemp() or mkdtemp(): the name of what will become `path`, in
/// the same folder, hidden.  To be freed.
char*
whole_part_path(const char* path);

/// What a new file or folder is allowed, as the user's mask has it
mode_t
whole_part_mode(mode_t wanted);

/// Bring an open file or folder to the disk.  False with errno; a kind of disk
/// that cannot do so counts as done.
bool
whole_part_sync(int descriptor);

/// The same for a folder with all that is in it
bool
whole_part_sync_tree(const char* folder);

/// The same for the folder that `path` is in, after something there got its
/// name; false with a line
bool
whole_part_sync_place(const char* path, failure* f);

/// Remove a folder and the files of it that are in `list` (whole_list.h), or
/// with NULL all.  Links are removed, not followed, and no other file system is
/// entered.  What may not go stays, with the folders it is in.
void
whole_part_remove_tree(const char* folder, const char* list);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H
