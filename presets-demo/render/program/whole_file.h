// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A file that is there as a whole or not at all, whatever happens: it grows
/// under another name in the same folder, is brought to the disk, and gets its
/// own name when it is complete.  Until then an older file stays as it is.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H
#define PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H

#include "failure.h"

#include <stdio.h>

typedef struct whole_file whole_file;

/// NULL if there can be no such file.  A link in its place is replaced, not
/// followed; the access rights are those of the file in its place, if there is
/// one.
whole_file*
whole_file_open(const char* path, failure* f);

/// Where to write; `w` keeps it.  Use this or the stream.
int
whole_file_descriptor(const whole_file* w);

/// The same for printf(); a write that fails shows in whole_file_finish()
FILE*
whole_file_stream(whole_file* w);

/// Complete the file, give it its name, and free `w`.  False if that fails:
/// what was there before is there still then, or, if the folder cannot be
/// brought to the disk, the new file.
bool
whole_file_finish(whole_file* w, failure* f);

/// Remove what was written, and free `w`, which may be NULL
void
whole_file_abandon(whole_file* w);

#endif // PRESETS_DEMO_RENDER_PROGRAM_WHOLE_FILE_H
