// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Parts that a run left which was killed: the next one to the same place
/// clears them.  Private to whole_file and whole_folder.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H

/// Remove the parts of what will become `path` that nobody works on any more.
/// That is: its name is that of such a part (whole_part_path()), it belongs to
/// this user, it is a regular file or a folder, no run holds its lock, and
/// nothing was written into it for a minute.  Of a folder goes what this
/// program wrote.  An older folder that was on its way to be replaced gets its
/// name back.
void
whole_stale_clear(const char* path);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_STALE_H
