// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Setups for the parts of render-fixture/, whose ranges, labels and units are
/// in fixture.ttl.  Each test program works in a folder of its own.

#ifndef TESTS_RENDER_SETUP_CHECK_H
#define TESTS_RENDER_SETUP_CHECK_H

#include "tests/support/check.h"

#include "presets-demo/render/setup/setup.h"

#include <dirent.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static catalogue parts;
static char      folder[] = "/tmp/dustcap-setup-XXXXXX";

static inline void
write_bytes(const char* name, const char* text, size_t length)
{
  FILE* const f = fopen(name, "w");
  assert_non_null(f);
  assert_int_equal(fwrite(text, 1, length, f), length);
  assert_int_equal(fclose(f), 0);
}

static inline void
write_file(const char* name, const char* text)
{
  write_bytes(name, text, strlen(text));
}

static inline int
open_parts(void** state)
{
  (void)state;
  failure f = {""};
  if (!catalogue_open(&parts, FIXTURE_DIR, &f)) {
    print_error("%s\n", f.text);
    return -1;
  }
  return mkdtemp(folder) ? chdir(folder) : -1;
}

static inline int
close_parts(void** state)
{
  (void)state;
  DIR* const d = opendir(folder);
  for (const struct dirent* e = NULL; d && (e = readdir(d));) {
    (void)remove(e->d_name);
  }
  catalogue_close(&parts);
  return d && !closedir(d) ? rmdir(folder) : -1;
}

#endif // TESTS_RENDER_SETUP_CHECK_H
