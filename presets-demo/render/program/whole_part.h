// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Shared by whole_file and whole_folder, and private to them

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H

#include "plugins/text/failure.h"

#include <sys/types.h>

/// Appended to the name of a part while it is the older folder, where the two
/// cannot be swapped in one step
#define WHOLE_PART_OLD ".old"

/// Returns a pattern for mkstemp() or mkdtemp(): the name under which `path`
/// grows, hidden, in the same folder; free() it
char*
whole_part_path(const char* path);

/// Locks a part for as long as the descriptor is open: whole_stale.h leaves it
/// alone then.  Does nothing on a file system without locks.
void
whole_part_lock(int descriptor);

/// Swaps two files or folders in one step: at any moment one of them is in
/// place.  Returns false if the system or the file system cannot do that.
bool
whole_part_exchange(const char* a, const char* b);

/// Returns the access rights of a new file or folder under the user's mask
mode_t
whole_part_mode(mode_t wanted);

/// Syncs an open file or folder to disk.  Returns false with errno; a file
/// system that cannot sync counts as done.
bool
whole_part_sync(int descriptor);

/// Does the same for a folder with all that is in it
bool
whole_part_sync_tree(const char* folder);

/// Does the same for the folder of `path`, after something in it got its name;
/// returns false with a failure
bool
whole_part_sync_place(const char* path, failure* f);

/// Removes an incomplete folder with all that is in it.  Removes links without
/// following them and enters no other file system.
void
whole_part_remove_tree(const char* folder);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_PART_H
