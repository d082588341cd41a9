// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Replaces a file as a whole: readers see the old one or the new one.

#ifndef PLUGINS_SETUP_SETUP_REPLACE_H
#define PLUGINS_SETUP_SETUP_REPLACE_H

#include "plugins/text/failure.h"

#include <stddef.h>

/// Whether a new file may take its place; false with a failure
typedef bool (*setup_replace_check)(const char* path,
                                    const void* user,
                                    failure*    f);

/// Writes a text beside `path`, has it checked there and renames it, with the
/// rights of the old file.  A link stays one: the file that it leads to is
/// replaced.  False with a failure; then nothing has changed.
bool
setup_replace(const char*         path,
              const char*         text,
              size_t              length,
              setup_replace_check check,
              const void*         user,
              failure*            f);

#endif // PLUGINS_SETUP_SETUP_REPLACE_H
