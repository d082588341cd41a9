// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// No instance influences another: what one plays among many is, bit for bit,
/// what it plays alone, and its meters show the same.  All forms of all plugins
/// in turn, two of each with settings of their own; and 32 whole chains in two
/// threads, which the thread sanitizer watches in ./dev realtime.

#include "tests/support/check.h"

#include "realtime.h"

#include <pthread.h>

// ---------------------------------------------------------------------------
// All in turn

enum { N_BLOCKS = 150, TWINS = 2, MAX_SUBJECTS = 64 };

typedef struct {
  realtime r;
  float    out[N_BLOCKS][MAX_CHANNELS][REALTIME_BLOCK]; ///< Alone
  float    meter[N_BLOCKS][REALTIME_MAX_PORTS];
} subject;

static subject subjects[MAX_SUBJECTS];

static void
begin(subject* s, uint32_t index)
{
  realtime_open(&s->r);
  memset(s->r.out, 0, sizeof(s->r.out));
  s->r.seed = 1000 + index;
}

static void
play_block(subject* s, uint32_t i)
{
  realtime_feed(&s->r, i);
  realtime_sweep(&s->r, i);
  s->r.type->run(s->r.handle, REALTIME_BLOCK);
}

static size_t
meter_bytes(const subject* s)
{
  return s->r.n_meters * sizeof(float);
}

static void
play_alone(subject* s, uint32_t index)
{
  begin(s, index);
  for (uint32_t i = 0; i < N_BLOCKS; ++i) {
    play_block(s, i);
    memcpy(s->out[i], s->r.out, sizeof(s->r.out));
    memcpy(s->meter[i], s->r.control + s->r.n_params, meter_bytes(s));
  }
  realtime_close(&s->r);
}

/// Counts the subjects that play something else among the others than alone.
/// After each round a guest instance opens, plays and closes.
static uint32_t
count_influenced(uint32_t n)
{
  bool influenced[MAX_SUBJECTS] = {false};
  for (uint32_t k = 0; k < n; ++k) {
    begin(&subjects[k], k);
  }
  for (uint32_t i = 0; i < N_BLOCKS; ++i) {
    for (uint32_t j = 0; j < n; ++j) {
      const uint32_t k = (j * 7 + i) % n; // In another order each time
      subject* const s = &subjects[k];
      play_block(s, i);
      influenced[k] =
        influenced[k] || memcmp(s->out[i], s->r.out, sizeof(s->r.out)) != 0 ||
        memcmp(s->meter[i], s->r.control + s->r.n_params, meter_bytes(s)) != 0;
    }
    // Instances come and go meanwhile
    realtime guest;
    assert_true(realtime_find(&guest, shell_descriptor, i % (n / TWINS)));
    realtime_open(&guest);
    realtime_fill(&guest, 1.0F);
    guest.type->run(guest.handle, REALTIME_BLOCK);
    realtime_close(&guest);
  }
  uint32_t count = 0;
  for (uint32_t k = 0; k < n; ++k) {
    realtime_close(&subjects[k].r);
    if (influenced[k]) {
      print_message("# %s is influenced\n", subjects[k].r.form.uri);
      ++count;
    }
  }
  return count;
}

/// Plays all forms from `source` alone; returns the number of subjects
static uint32_t
gather(realtime_source source)
{
  uint32_t n = 0;
  for (; realtime_find(&subjects[n].r, source, n / TWINS); ++n) {
    play_alone(&subjects[n], n);
    assert_true(n + 1 < MAX_SUBJECTS);
  }
  assert_true(n % TWINS == 0 && n > 7); // Steps of 7 reach all
  assert_true(n % 7 != 0);
  return n;
}

static void
test_each_plays_as_if_alone(void** state)
{
  (void)state;
  assert_int_equal(count_influenced(gather(shell_descriptor)), 0);
}

/// A plugin with a flaw: a tiny offset that all instances share
static void
run_flawed(LV2_Handle handle, uint32_t n)
{
  static float                common;
  const LV2_Descriptor* const good = shell_descriptor(0);
  for (uint32_t k = 0; k < MAX_SUBJECTS; ++k) {
    if (subjects[k].r.handle == handle) {
      good->run(handle, n);
      subjects[k].r.out[0][0] += common;
      common = 1e-6F * subjects[k].r.in[0][n - 1];
      return;
    }
  }
  good->run(handle, n); // A guest
}

static LV2_Handle
instantiate_flawed(const LV2_Descriptor*     descriptor,
                   double                    rate_hz,
                   const char*               bundle_path,
                   const LV2_Feature* const* features)
{
  (void)descriptor;
  const LV2_Descriptor* const good = shell_descriptor(0);
  return good->instantiate(good, rate_hz, bundle_path, features);
}

static const LV2_Descriptor*
flawed_descriptor(uint32_t index)
{
  static LV2_Descriptor flawed;
  if (index > 0) {
    return shell_descriptor(index);
  }
  flawed             = *shell_descriptor(0);
  flawed.instantiate = instantiate_flawed;
  flawed.run         = run_flawed;
  return &flawed;
}

static void
test_an_influence_is_seen(void** state)
{
  (void)state;
  assert_int_equal(count_influenced(gather(flawed_descriptor)), TWINS);
}

// ---------------------------------------------------------------------------
// Chains in threads

enum { CHAINS = 32, THREADS = 2, STAGES = 7, CHAIN_BLOCKS = 100 };

typedef struct {
  realtime stage[STAGES];
  float    out[CHAIN_BLOCKS][REALTIME_BLOCK];
} chain;

static chain chains[CHAINS], again;

/// The stages of a track, mono, set differently in each chain
static void
open_chain(chain* c, uint32_t index)
{
  uint32_t n = 0;
  realtime r;
  for (uint32_t i = 0; n < STAGES && realtime_find(&r, shell_descriptor, i);
       ++i) {
    if (r.form.plugin->forms == FORMS_TRACK && !r.form.is_stereo_form) {
      c->stage[n]      = r;
      c->stage[n].seed = 100 * index + n;
      realtime_open(&c->stage[n++]);
    }
  }
  if (n != STAGES) {
    abort(); // A failed check must not leave a thread
  }
}

static void
play_chain(chain* c, uint32_t i)
{
  realtime_feed(&c->stage[0], i);
  for (uint32_t k = 0; k < STAGES; ++k) {
    realtime* const r = &c->stage[k];
    realtime_sweep(r, i);
    r->type->run(r->handle, REALTIME_BLOCK);
    memcpy(k + 1 < STAGES ? c->stage[k + 1].in[0] : c->out[i], r->out[0],
           sizeof(r->out[0]));
  }
}

static void
close_chain(chain* c)
{
  for (uint32_t k = 0; k < STAGES; ++k) {
    realtime_close(&c->stage[k]);
  }
}

/// A thread's chains, side by side as a host would play its tracks
static void*
play_chains(void* data)
{
  const uint32_t first = *(const uint32_t*)data;
  for (uint32_t c = first; c < CHAINS; c += THREADS) {
    open_chain(&chains[c], c);
  }
  for (uint32_t i = 0; i < CHAIN_BLOCKS; ++i) {
    for (uint32_t c = first; c < CHAINS; c += THREADS) {
      play_chain(&chains[c], i);
    }
  }
  for (uint32_t c = first; c < CHAINS; c += THREADS) {
    close_chain(&chains[c]);
  }
  return NULL;
}

/// Runs first, so that shared tables are built while both threads ask for them
static void
test_chains_in_threads_play_as_if_alone(void** state)
{
  (void)state;
  static const uint32_t first[THREADS] = {0, 1};
  pthread_t             thread[THREADS];
  for (uint32_t t = 0; t < THREADS; ++t) {
    assert_int_equal(pthread_create(&thread[t], NULL, play_chains,
                                    (void*)(uintptr_t)&first[t]),
                     0);
  }
  for (uint32_t t = 0; t < THREADS; ++t) {
    assert_int_equal(pthread_join(thread[t], NULL), 0);
  }
  for (uint32_t c = 0; c < CHAINS; ++c) {
    open_chain(&again, c);
    for (uint32_t i = 0; i < CHAIN_BLOCKS; ++i) {
      play_chain(&again, i);
    }
    close_chain(&again);
    assert_memory_equal(chains[c].out, again.out, sizeof(again.out));
  }
  // Otherwise nothing was compared
  assert_memory_not_equal(chains[0].out, chains[1].out, sizeof(again.out));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_chains_in_threads_play_as_if_alone),
    cmocka_unit_test(test_each_plays_as_if_alone),
    cmocka_unit_test(test_an_influence_is_seen),
  };
  return cmocka_run_group_tests_name("independence", tests, NULL, NULL);
}
