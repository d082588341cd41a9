// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// portability_compare FOLDER_A FOLDER_B NAME...
///
/// By how much two runs of portability_player differ, over the forms named:
/// "identical", or "NAME DB", where DB is the largest difference in dBFS (re
/// the peak of A where that is above full scale), NAME the form where it was
/// seen. Exits with 1 where they differ, 2 where there is nothing to compare.

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  double most, peak;
  bool   identical;
} difference;

static FILE*
open_file(const char* folder, const char* name)
{
  char path[4096];
  snprintf(path, sizeof(path), "%s/%s.f32", folder, name);
  FILE* const file = fopen(path, "rb");
  if (!file) {
    fprintf(stderr, "%s: cannot be read\n", path);
    exit(2);
  }
  return file;
}

static bool
read_sample(FILE* file, float* x)
{
  unsigned char byte[4];
  if (fread(byte, 1, 4, file) != 4) {
    return false;
  }
  const uint32_t bits = (uint32_t)byte[0] | (uint32_t)byte[1] << 8U |
                        (uint32_t)byte[2] << 16U | (uint32_t)byte[3] << 24U;
  memcpy(x, &bits, sizeof(bits));
  return true;
}

static difference
compare(FILE* a, FILE* b, const char* name)
{
  difference d = {.peak = 1.0, .identical = true};
  float      x = 0.0F;
  float      y = 0.0F;
  uint64_t   n = 0;
  for (;; ++n) {
    const bool more_a = read_sample(a, &x);
    const bool more_b = read_sample(b, &y);
    if (more_a != more_b || (!more_a && n == 0)) {
      fprintf(stderr, "%s: not as long in both\n", name);
      exit(2);
    }
    if (!more_a) {
      return d;
    }
    d.identical        = d.identical && memcmp(&x, &y, sizeof(x)) == 0;
    const double apart = fabs((double)x - (double)y);
    d.most             = apart <= d.most ? d.most : apart; // NaN stays
    d.peak             = fmax(d.peak, fabs((double)x));
  }
}

int
main(int argc, char** argv)
{
  if (argc < 4) {
    fprintf(stderr, "usage: portability_compare FOLDER_A FOLDER_B NAME...\n");
    return 2;
  }
  const char* name      = "";
  double      most      = -1.0;
  bool        identical = true;
  for (int i = 3; i < argc; ++i) {
    FILE* const      a = open_file(argv[1], argv[i]);
    FILE* const      b = open_file(argv[2], argv[i]);
    const difference d = compare(a, b, argv[i]);
    fclose(a);
    fclose(b);
    identical = identical && d.identical;
    if (!d.identical && !(d.most / d.peak <= most)) {
      most = d.most / d.peak;
      name = argv[i];
    }
  }
  if (identical) {
    printf("identical\n");
    return 0;
  }
  printf("%s %.1f\n", name, 20.0 * log10(most));
  return 1;
}
