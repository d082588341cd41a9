// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Denormal numbers never come out, whatever goes in.  The caller's floating
/// point mode, however odd, is left as found and makes no difference to the
/// sound, neither while it plays nor while an instance is made.

#include "tests/support/check.h"

#include "realtime.h"

#include "common/core/denormals.h"

#include <sys/wait.h>
#include <unistd.h>

#define N_BLOCKS 200U

static void
run(realtime* r)
{
  r->type->run(r->handle, REALTIME_BLOCK);
}

static void
for_each(void (*f)(realtime* r))
{
  static realtime r;
  uint32_t        n = 0;
  for (; realtime_find(&r, shell_descriptor, n); ++n) {
    realtime_open(&r);
    f(&r);
    realtime_close(&r);
  }
  assert_true(n > 0);
}

static uint32_t
count_denormals(const realtime* r)
{
  uint32_t count = 0;
  for (uint32_t k = 0; k < r->form.n_out; ++k) {
    for (uint32_t i = 0; i < REALTIME_BLOCK; ++i) {
      count += fpclassify(r->out[k][i]) == FP_SUBNORMAL;
    }
  }
  return count;
}

static void
check_flushed(realtime* r)
{
  uint32_t count = 0;
  for (uint32_t i = 0; i < N_BLOCKS; ++i) {
    realtime_fill(r, 1e-39F);
    run(r);
    count += count_denormals(r);
  }
  for (uint32_t i = 0; i < N_BLOCKS; ++i) {
    realtime_fill(r, 1.0F);
    run(r);
  }
  for (uint32_t i = 0; i < 4500; ++i) { // 6 s: tails die away
    realtime_hold(r, 0.0F);
    run(r);
    count += count_denormals(r);
  }
  if (count) {
    fail_msg("%s: %u denormal samples", r->form.uri, count);
  }
}

static void
test_no_denormal_comes_out(void** state)
{
  (void)state;
  // Otherwise compiler or processor flush for us, and this test shows nothing
  volatile float tiny = 1e-30F;
  tiny *= 1e-10F;
  assert_int_equal(fpclassify(tiny), FP_SUBNORMAL);
  for_each(check_flushed);
}

#if defined(__SSE__)

/// All four rounding modes (bits 13, 14), flush and denormals-are-zero, every
/// exception trapping (bits 7 to 12 clear), old exception flags set
static const uint32_t modes[] = {0x1F80, 0x3F80, 0x5F80, 0x7F80,
                                 0x9FC0, 0x0000, 0x1FBF};

static float first[N_BLOCKS][MAX_CHANNELS][REALTIME_BLOCK];

static void
check_mode(realtime* r)
{
  for (uint32_t m = 0; m < sizeof(modes) / sizeof(modes[0]); ++m) {
    r->type->activate(r->handle);
    r->seed = 1;
    for (uint32_t i = 0; i < N_BLOCKS; ++i) {
      realtime_fill(r, 0.5F);
      denormals_restore(modes[m]);
      run(r);
      const uint32_t after = _mm_getcsr();
      denormals_restore(0x1F80); // As a C program starts
      assert_int_equal(after, modes[m]);
      if (m == 0) {
        memcpy(first[i], r->out, sizeof(r->out));
      } else {
        assert_memory_equal(r->out, first[i], sizeof(r->out));
      }
    }
  }
}

static void
test_any_mode_is_left_as_found_and_sounds_the_same(void** state)
{
  (void)state;
  for_each(check_mode);
}

enum { MAX_FORMS = 64 };

/// FNV-1a (from memory) of what a form plays
static uint64_t
digest_of(realtime* r)
{
  uint64_t digest = 0xcbf29ce484222325U;
  for (uint32_t i = 0; i < 20; ++i) {
    realtime_fill(r, 0.5F);
    run(r);
    for (uint32_t k = 0; k < r->form.n_out; ++k) {
      for (uint32_t j = 0; j < sizeof(r->out[k]); ++j) {
        digest ^= ((const unsigned char*)r->out[k])[j];
        digest *= 0x100000001b3U;
      }
    }
  }
  return digest;
}

/// In a process of its own, because tables are made once per process: all forms
/// instantiated in a mode.  Writes their digests; the exit status is the number
/// of forms that changed the mode.
static void
instantiate_all(uint32_t mode, int to)
{
  static realtime r;
  static uint64_t digests[MAX_FORMS];
  int             n_changed = 0;
  for (uint32_t n = 0; realtime_find(&r, shell_descriptor, n); ++n) {
    assert_in_range(n, 0, MAX_FORMS - 1);
    denormals_restore(mode);
    realtime_open(&r);
    n_changed += _mm_getcsr() != mode;
    denormals_restore(0x1F80);
    digests[n] = digest_of(&r);
    realtime_close(&r);
  }
  assert_int_equal(write(to, digests, sizeof(digests)), sizeof(digests));
  _exit(n_changed);
}

static void
digests_in_mode(uint32_t mode, uint64_t digests[MAX_FORMS])
{
  int ends[2];
  int status = 0;
  assert_int_equal(pipe(ends), 0);
  const pid_t child = fork();
  if (child == 0) {
    instantiate_all(mode, ends[1]);
  }
  assert_true(child > 0);
  close(ends[1]);
  const ssize_t size = MAX_FORMS * (ssize_t)sizeof(digests[0]);
  assert_int_equal(read(ends[0], digests, (size_t)size), size);
  close(ends[0]);
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  assert_int_equal(WEXITSTATUS(status), 0);
}

static void
test_made_in_any_mode_it_sounds_the_same(void** state)
{
  (void)state;
  uint64_t plain[MAX_FORMS] = {0};
  digests_in_mode(modes[0], plain);
  assert_true(plain[0] != 0);
  for (uint32_t m = 1; m < sizeof(modes) / sizeof(modes[0]); ++m) {
    uint64_t        odd[MAX_FORMS] = {0};
    static realtime r;
    digests_in_mode(modes[m], odd);
    for (uint32_t n = 0; realtime_find(&r, shell_descriptor, n); ++n) {
      if (odd[n] != plain[n]) {
        fail_msg("%s: made in mode %04x it sounds otherwise", r.form.uri,
                 modes[m]);
      }
    }
  }
}

#else

static void
test_made_in_any_mode_it_sounds_the_same(void** state)
{
  (void)state;
  skip();
}

static void
test_any_mode_is_left_as_found_and_sounds_the_same(void** state)
{
  (void)state;
  skip(); // No way to set one here
}

#endif

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_made_in_any_mode_it_sounds_the_same), // Tables anew
    cmocka_unit_test(test_no_denormal_comes_out),
    cmocka_unit_test(test_any_mode_is_left_as_found_and_sounds_the_same),
  };
  return cmocka_run_group_tests_name("realtime-mode", tests, NULL, NULL);
}
