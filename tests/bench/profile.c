// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plays one plugin for callgrind, which counts the instructions in
/// profile_play() (tests/bench/profile.sh), or prints the stems of all plugins.

#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Passes until a stage rests: the longest tail, and some seconds
#define REST_PASSES 10

void
profile_play(const subject* s, uint32_t n_frames);

__attribute__((noinline)) void
profile_play(const subject* s, uint32_t n_frames)
{
  const float* const in[] = {bench_input[0], bench_input[1]};
  for (uint32_t done = 0; done < n_frames; done += BENCH_FRAMES) {
    const uint32_t left = n_frames - done;
    (void)subject_pass(s, in, left < BENCH_FRAMES ? left : BENCH_FRAMES,
                       BENCH_BLOCK);
  }
}

/// SYMBOL=VALUE
static bool
set_from(subject* s, char* word)
{
  char* const value = strchr(word, '=');
  if (value) {
    *value = '\0';
  }
  return value && subject_set(s, word, strtof(value + 1, NULL));
}

static int
print_stems(void)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    puts(p->stem);
  }
  return 0;
}

int
main(int argc, char** argv)
{
  if (argc == 2 && strcmp(argv[1], "--stems") == 0) {
    return print_stems();
  }
  if (argc < 4) {
    fprintf(stderr, "usage: profile BUNDLE_FOLDER URI FRAMES [silence] "
                    "[SYMBOL=VALUE]...\n"
                    "       profile --stems\n");
    return 2;
  }
  const uint32_t n_frames = (uint32_t)strtoul(argv[3], NULL, 10);
  if (n_frames < BENCH_BLOCK) {
    fprintf(stderr, "profile: FRAMES: expected %u or more\n", BENCH_BLOCK);
    return 2;
  }

  bench_bundle b = bench_open(argv[1]);
  bench_fill_input();
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t form = 0; form < shell_form_count(p); ++form) {
      if (strcmp(shell_form(p, form).uri, argv[2]) != 0) {
        continue;
      }
      subject s;
      subject_open(&s, &b, p, form, BENCH_RATE_HZ);
      bool silent = false;
      for (int i = 4; i < argc; ++i) {
        if (strcmp(argv[i], "silence") == 0) {
          silent = true;
          continue;
        }
        if (!set_from(&s, argv[i])) {
          fprintf(stderr, "profile: %s: expected SYMBOL=VALUE of a control\n",
                  argv[i]);
          return 2;
        }
      }
      // Not counted: work at the start only, such as building tables
      const float* const in[] = {bench_input[0], bench_input[1]};
      (void)subject_pass(&s, in, BENCH_FRAMES / 4, BENCH_BLOCK);
      if (silent) {
        memset(bench_input, 0, sizeof(bench_input));
      }
      for (int i = 0; silent && i < REST_PASSES; ++i) {
        (void)subject_pass(&s, in, BENCH_FRAMES, BENCH_BLOCK);
      }
      profile_play(&s, n_frames);
      subject_close(&s);
      bench_close(&b);
      return 0;
    }
  }
  fprintf(stderr, "profile: no plugin %s\n", argv[2]);
  return 2;
}
