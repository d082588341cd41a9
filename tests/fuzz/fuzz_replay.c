// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plays a fuzz target without libFuzzer: the corpus (cases that led
/// somewhere), random changes of it, and random bytes, the same on every
/// machine.  A broken promise ends the program.
///
///   CORPUS_DIR   folder of cases
///   N_RANDOM     number of random cases

#include "tests/support/check.h"
#include "tests/support/fuzz.h"

#include <dirent.h>

#define MAX_CASE    4096
#define MAX_CASES   256
#define RANDOM_SIZE 160U

typedef struct {
  uint8_t data[MAX_CASE];
  size_t  size;
} fuzz_case;

static fuzz_case corpus[MAX_CASES];
static uint32_t  n_corpus;

static int
is_case(const struct dirent* entry)
{
  return entry->d_name[0] != '.';
}

static void
read_case(const char* name)
{
  char path[1024];
  (void)snprintf(path, sizeof(path), "%s/%s", CORPUS_DIR, name);
  FILE* const file = fopen(path, "rb");
  assert_non_null(file);
  assert_in_range(n_corpus, 0, MAX_CASES - 1);
  fuzz_case* const c = &corpus[n_corpus++];
  c->size            = fread(c->data, 1, sizeof(c->data), file);
  assert_in_range(c->size, 1, sizeof(c->data) - 1);
  (void)fclose(file);
}

static int
read_corpus(void** state)
{
  (void)state;
  struct dirent** entries = NULL;
  const int       n       = scandir(CORPUS_DIR, &entries, is_case, alphasort);
  for (int i = 0; i < n; ++i) {
    read_case(entries[i]->d_name);
    free(entries[i]);
  }
  free(entries);
  return n > 0 ? 0 : -1;
}

static void
known_cases(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < n_corpus; ++i) {
    LLVMFuzzerTestOneInput(corpus[i].data, corpus[i].size);
  }
}

/// From 0 to `n` - 1
static uint32_t
below(uint32_t* seed, uint32_t n)
{
  (void)check_noise(seed);
  return (*seed >> 8U) % n;
}

/// Replaces, repeats or cuts away bytes
static void
change(fuzz_case* c, uint32_t* seed)
{
  for (uint32_t n = 1 + below(seed, 8); n > 0 && c->size > 1; --n) {
    const uint32_t at   = below(seed, (uint32_t)c->size);
    const size_t   rest = c->size - at;
    switch (below(seed, 4)) {
      case 0:
        c->size = at + 1 + below(seed, (uint32_t)rest);
        break;
      case 1:
        if (c->size + rest <= MAX_CASE) {
          memmove(c->data + at + rest, c->data + at, rest);
          c->size += rest;
        }
        break;
      default:
        c->data[at] = (uint8_t)below(seed, 256);
        break;
    }
  }
}

static void
random_cases(void** state)
{
  static fuzz_case c;
  uint32_t         seed = 1;
  (void)state;
  for (uint32_t i = 0; i < N_RANDOM; ++i) {
    if (i % 2) {
      c = corpus[below(&seed, n_corpus)];
      change(&c, &seed);
    } else {
      c.size = 1 + below(&seed, RANDOM_SIZE);
      for (size_t j = 0; j < c.size; ++j) {
        c.data[j] = (uint8_t)below(&seed, 256);
      }
    }
    LLVMFuzzerTestOneInput(c.data, c.size);
  }
}

/// With an argument, runs only the tests of that name ("*" matches anything)
int
main(int argc, char** argv)
{
  if (argc > 1) {
    cmocka_set_test_filter(argv[1]);
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(known_cases),
    cmocka_unit_test(random_cases),
  };
  return cmocka_run_group_tests_name("fuzz replay", tests, read_corpus, NULL);
}
