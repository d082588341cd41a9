// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Opens a text that a user wrote

#ifndef PLUGINS_TEXT_INPUT_FILE_H
#define PLUGINS_TEXT_INPUT_FILE_H

#include "failure.h"

#include <stdio.h>
#include <sys/stat.h>

/// Bytes of the largest text
#define INPUT_FILE_MAX 1048576

/// Returns "is a folder", or what else is wrong with a file that is to be read
/// to its end: devices and pipes may have none.  NULL for an ordinary file.
const char*
input_file_fault(const struct stat* status);

/// Opens a text of at most INPUT_FILE_MAX bytes, without waiting.  NULL with
/// the line "path: what was found; expected `kind`".
FILE*
input_file_open(const char* path, const char* kind, failure* f);

#endif // PLUGINS_TEXT_INPUT_FILE_H
