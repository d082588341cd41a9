// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// realtime_play BLOCKS | --bad
///
/// Plays BLOCKS blocks through every form of every plugin, with all controls
/// moving and bad samples and denormals at the input, while the real-time
/// sanitizer or strace watches.  With --bad it allocates in a function that is
/// declared real-time, to see whether they notice.

#include "realtime.h"

static void* volatile a_block;

static void
allocate(size_t size) NONBLOCKING
{
  a_block = malloc(size);
}

static void
no_watch(bool is_begin)
{
  (void)is_begin;
}

int
main(int argc, char** argv)
{
  if (argc == 2 && !strcmp(argv[1], "--bad")) {
    allocate(8);
    return 0;
  }
  const long n_blocks = argc == 2 ? strtol(argv[1], NULL, 10) : 0;
  if (n_blocks <= 0) {
    fprintf(stderr, "usage: realtime_play BLOCKS | --bad\n");
    return 2;
  }
  static realtime r;
  uint32_t        n = 0;
  for (; realtime_find(&r, shell_descriptor, n); ++n) {
    realtime_open(&r);
    realtime_play(&r, (uint32_t)n_blocks, no_watch);
    realtime_close(&r);
  }
  printf("%u forms, %ld blocks each\n", n, n_blocks);
  return 0;
}
