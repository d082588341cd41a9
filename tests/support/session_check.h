// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Runs dustcap-session as a user does.  RENDER is that program here.

#ifndef TESTS_SUPPORT_SESSION_CHECK_H
#define TESTS_SUPPORT_SESSION_CHECK_H

#include "render_check.h"

#include <ftw.h>

static inline int
remove_one(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)s;
  (void)type;
  (void)at;
  return remove(path);
}

static inline void
remove_tree(const char* path)
{
  (void)nftw(path, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static inline int
leave_tree(void** state)
{
  (void)state;
  remove_tree(render_folder);
  return 0;
}

/// Runs a command line on a bundle; it must succeed with nothing on stderr
static inline void
session_well(const char* bundle, const char* line)
{
  char text[2048];
  (void)snprintf(text, sizeof(text), "--bundle %s %s", bundle, line);
  const int status = render_status(text);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", line, status, read_text("stderr"));
  }
}

/// Writes noise to a new file
static inline sound
write_noise(const char* name, int rate_hz, int n_channels, sf_count_t n)
{
  sound s = sound_noise(FLOAT_WAV, rate_hz, n_channels, n);
  sound_write(&s, name);
  return s;
}

#endif // TESTS_SUPPORT_SESSION_CHECK_H
