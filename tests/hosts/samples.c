// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_samples SOUND
/// Writes its samples to standard output as they are in memory: 32-bit float,
/// interleaved

#include <sndfile.h>

#include <stdbool.h>
#include <stdio.h>

#define PIECE 4096

int
main(int argc, char** argv)
{
  SF_INFO        info = {0};
  SNDFILE* const file = argc == 2 ? sf_open(argv[1], SFM_READ, &info) : NULL;
  if (!file) {
    fprintf(stderr, "usage: host_samples SOUND\n");
    return 2;
  }
  float      x[PIECE];
  sf_count_t n  = 0;
  bool       ok = true;
  while (ok && (n = sf_read_float(file, x, PIECE)) > 0) {
    ok = fwrite(x, sizeof(*x), (size_t)n, stdout) == (size_t)n;
  }
  sf_close(file);
  return ok && !fflush(stdout) ? 0 : 1;
}
