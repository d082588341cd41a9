// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chance.h"

#include <stdbool.h>
#include <stdio.h>
#include <time.h>

/// Spreads a change of one bit over all (the finaliser of MurmurHash3, which
/// its author gave to the public domain; from memory)
static uint64_t
spread(uint64_t x)
{
  x = (x ^ x >> 33U) * 0xFF51AFD7ED558CCDULL;
  x = (x ^ x >> 33U) * 0xC4CEB9FE1A85EC53ULL;
  return x ^ x >> 33U;
}

/// Where the system gives nothing: when, where and how often
static uint32_t
bits_of_the_clock(void)
{
  static uint64_t n;
  struct timespec t = {0};
  (void)clock_gettime(CLOCK_REALTIME, &t);
  const uint64_t when =
    (uint64_t)t.tv_sec * 1000000000ULL + (uint64_t)t.tv_nsec;
  n = spread(n + when + (uint64_t)(uintptr_t)&t);
  return (uint32_t)(n >> 32U);
}

uint32_t
chance_bits(void)
{
  uint32_t    bits    = 0;
  FILE* const file    = fopen("/dev/urandom", "rb");
  const bool  is_read = file && fread(&bits, sizeof(bits), 1, file) == 1;
  if (file) {
    (void)fclose(file);
  }
  return is_read ? bits : bits_of_the_clock();
}
