// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A folder of its own for a fuzz target that reads files

#ifndef TESTS_FUZZ_FUZZ_FOLDER_H
#define TESTS_FUZZ_FUZZ_FOLDER_H

#include "tests/support/fuzz.h"

#include <stdbool.h>
#include <unistd.h>

static char fuzz_folder[256];

/// Makes a new folder the working one; only the first call does, later ones
/// return false.  At the end of the program `leave` must remove what is in it,
/// then fuzz_folder.
static inline bool
fuzz_enter_folder(void (*leave)(void))
{
  const char* const base = getenv("TMPDIR");
  if (*fuzz_folder) {
    return false;
  }
  (void)snprintf(fuzz_folder, sizeof(fuzz_folder), "%s/dustcap-fuzz-XXXXXX",
                 base ? base : "/tmp");
  FUZZ_CHECK(mkdtemp(fuzz_folder) && !chdir(fuzz_folder), "%s", fuzz_folder);
  (void)atexit(leave);
  return true;
}

static inline void
fuzz_write_text(const char* name, const uint8_t* text, size_t size)
{
  FILE* const file = fopen(name, "wb");
  FUZZ_CHECK(file, "%s", name);
  FUZZ_CHECK(fwrite(text, 1, size, file) == size, "%s", name);
  FUZZ_CHECK(!fclose(file), "%s", name);
}

#endif // TESTS_FUZZ_FUZZ_FOLDER_H
