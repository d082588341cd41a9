// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A file that is written completely or not at all, whatever happens: it grows
/// under another name in the same folder, is synced to disk, and gets its own
/// name when it is complete.  Until then an older file stays as it is.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H

#include "plugins/text/failure.h"

#include <stdio.h>

typedef struct whole_file whole_file;

/// Opens a new file; returns NULL if that is impossible.  Replaces a link in
/// its place and does not follow it; keeps the access rights of a file in its
/// place.
whole_file*
whole_file_open(const char* path, failure* f);

/// Returns the descriptor to write to; it stays `w`'s.  Use this, the stream,
/// or the name.
int
whole_file_descriptor(const whole_file* w);

/// Returns the same as a stream; whole_file_finish() reports failed writes
FILE*
whole_file_stream(whole_file* w);

/// Returns the name that it has until then, to be opened for writing
const char*
whole_file_part(const whole_file* w);

/// Completes the file, gives it its name, and frees `w`.  Returns false if that
/// fails: the older file is still there then, or the new one if only the folder
/// cannot be synced.
bool
whole_file_finish(whole_file* w, failure* f);

/// Does the same for two files: both are new or both are old, whatever fails.
/// Only a kill or a power cut between the two renames can leave the first new
/// and the second old, as no call renames both.
bool
whole_file_finish_both(whole_file* first, whole_file* second, failure* f);

/// Removes what was written, and frees `w`, which may be NULL
void
whole_file_abandon(whole_file* w);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H
