// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Parts of runs that were killed: the next run to the same place removes them.
/// Private to whole_file and whole_folder.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H

/// Removes the parts of `path` that no run works on any more: those with the
/// name of a part (whole_part_path()), of this user, regular files or folders,
/// not locked, unchanged for a minute.  In a folder it removes what this
/// program wrote.  An older folder that was about to be replaced gets its name
/// back.
void
whole_stale_clear(const char* path);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H
