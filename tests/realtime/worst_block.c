// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// worst_block INDEX
///
/// Plays one form of a plugin in blocks of 64 frames under callgrind, for
/// worst_block.sh, which reads from callgrind's dumps what each block cost.
/// Block n of a part is run by a function of its own, block_n(), so that one
/// dump per part tells all its blocks apart.
///
/// Parts, each with its name in its dump:
///   noise       full scale
///   silence     after it: tails die away
///   denormals   noise of 1e-39
///   bursts      noise and silence in turn, 7 blocks each
///   bad         every eighth block NaN, infinity or 1e30
///   resting     0.7 s in which the stage stops, clears its memory, and stands
///   waking      noise after that
///   moved       at rest again, everything jumps every HOLD blocks
///   upper       all numbers at their upper ends for long: what is off by
///               default costs something there
///   lower       the same at the lower ends
///   sweep       all numbers move in each block
///   automation  after that: numbers that glide, in steps of 1/100 of a range
///   switch      everything jumps every HOLD blocks, choices and toggles too
///   first       the first block after activate(), 16 times
///
/// Without callgrind, or built without its header, it counts nothing, which
/// worst_block.awk reports as a failure.

#include "realtime.h"

#if __has_include(<valgrind/callgrind.h>)
#  include <valgrind/callgrind.h>
#else
#  define CALLGRIND_ZERO_STATS
#  define CALLGRIND_DUMP_STATS_AT(name) (void)(name)
#endif

#define PART_BLOCKS 512
#define HOLD        32 ///< 43 ms: longer than any crossfade

typedef void (*block_function)(const realtime* r);

// Something must follow the call, or it becomes a jump
#define B1(n)                                                        \
  __attribute__((noinline)) static void block_##n(const realtime* r) \
  {                                                                  \
    r->type->run(r->handle, REALTIME_BLOCK);                         \
    __asm__ volatile("" : : "i"(n##U) : "memory");                   \
  }
#define B8(n) \
  B1(n##0) B1(n##1) B1(n##2) B1(n##3) B1(n##4) B1(n##5) B1(n##6) B1(n##7)
#define B64(n) \
  B8(n##0) B8(n##1) B8(n##2) B8(n##3) B8(n##4) B8(n##5) B8(n##6) B8(n##7)

// Octal: 01000 to 01777
// clang-format off: it takes a name with brackets for the start of a function
B64(010)
B64(011)
B64(012)
B64(013)
B64(014)
B64(015)
B64(016)
B64(017)
// clang-format on

#define P1(n) block_##n,
#define P8(n) \
  P1(n##0) P1(n##1) P1(n##2) P1(n##3) P1(n##4) P1(n##5) P1(n##6) P1(n##7)
#define P64(n) \
  P8(n##0) P8(n##1) P8(n##2) P8(n##3) P8(n##4) P8(n##5) P8(n##6) P8(n##7)
static const block_function blocks[PART_BLOCKS] = {
  P64(010) P64(011) P64(012) P64(013) P64(014) P64(015) P64(016) P64(017)};

static void
defaults(realtime* r)
{
  for (uint32_t i = 0; i < r->n_params; ++i) {
    r->control[i] = shell_param(r->form.plugin, i)->def;
  }
}

/// Not counted: 3 s, until everything has settled
static void
settle(realtime* r)
{
  for (int i = 0; i < 2250; ++i) {
    realtime_fill(r, 1.0F);
    r->type->run(r->handle, REALTIME_BLOCK);
  }
}

static void
play_noise(realtime* r, int i)
{
  (void)i;
  realtime_fill(r, 1.0F);
}

static void
play_silence(realtime* r, int i)
{
  (void)i;
  realtime_hold(r, 0.0F);
}

static void
play_denormals(realtime* r, int i)
{
  (void)i;
  realtime_fill(r, 1e-39F);
}

static void
play_bursts(realtime* r, int i)
{
  realtime_fill(r, i / 7 % 2 ? 1.0F : 0.0F);
}

static void
play_bad(realtime* r, int i)
{
  static const float bad[] = {NAN, INFINITY, 1e30F, -INFINITY, -1e30F};
  if (i % 8 == 0) {
    realtime_hold(r, bad[i / 8 % 5]);
  } else {
    realtime_fill(r, 0.2F);
  }
}

static void
set_numbers(realtime* r, float at)
{
  for (uint32_t k = 0; k < r->n_params; ++k) {
    const param_info* const p = shell_param(r->form.plugin, k);
    if (p->kind == PARAM_NUM) {
      r->control[k] = p->min + at * (p->max - p->min);
    }
  }
}

static void
play_sweep(realtime* r, int i)
{
  (void)i;
  realtime_fill(r, 0.2F);
  for (uint32_t k = 0; k < r->n_params; ++k) {
    if (shell_param(r->form.plugin, k)->kind == PARAM_NUM) {
      realtime_move(r, k);
    }
  }
}

static void
play_automation(realtime* r, int i)
{
  const int step = i % 200 < 100 ? i % 100 : 100 - i % 100;
  realtime_fill(r, 0.2F);
  set_numbers(r, (float)step / 100.0F);
}

static void
play_switch(realtime* r, int i)
{
  realtime_fill(r, 0.2F);
  for (uint32_t k = 0; k < r->n_params && i % HOLD == 0; ++k) {
    realtime_move(r, k);
  }
}

static void
play_first(realtime* r, int i)
{
  if (i % HOLD == 0) {
    r->type->activate(r->handle);
  }
  realtime_fill(r, 0.2F);
}

static void
play_moved(realtime* r, int i)
{
  realtime_hold(r, 0.0F);
  for (uint32_t k = 0; k < r->n_params && i % HOLD == 0; ++k) {
    realtime_move(r, k);
  }
}

static bool
is_zero(const realtime* r)
{
  for (uint32_t k = 0; k < r->form.n_out; ++k) {
    for (uint32_t i = 0; i < REALTIME_BLOCK; ++i) {
      if (r->out[k][i] != 0.0F) {
        return false;
      }
    }
  }
  return true;
}

/// Not counted: until the output has been zero for 2.7 s, soon before the stage
/// begins to clear its memory
static void
fall_silent(realtime* r)
{
  realtime_hold(r, 0.0F);
  for (int zeros = 0; zeros < 2025; zeros = is_zero(r) ? zeros + 1 : 0) {
    r->type->run(r->handle, REALTIME_BLOCK);
  }
}

/// Not counted: 0.4 s
static void
stand_still(realtime* r)
{
  realtime_hold(r, 0.0F);
  for (int i = 0; i < 300; ++i) {
    r->type->run(r->handle, REALTIME_BLOCK);
  }
}

static void
count_part(realtime* r, const char* name, void (*play)(realtime* r, int block))
{
  CALLGRIND_ZERO_STATS;
  for (int i = 0; i < PART_BLOCKS; ++i) {
    play(r, i);
    blocks[i](r);
  }
  CALLGRIND_DUMP_STATS_AT(name);
}

int
main(int argc, char** argv)
{
  realtime r;
  if (argc != 2 || !realtime_find(&r, shell_descriptor,
                                  (uint32_t)strtoul(argv[1], NULL, 10))) {
    fprintf(stderr, "usage: worst_block INDEX (of a form, from 0)\n");
    return 2;
  }
  printf("%s\n", r.form.uri);
  realtime_open(&r);
  settle(&r);
  count_part(&r, "noise", play_noise);
  count_part(&r, "silence", play_silence);
  count_part(&r, "denormals", play_denormals);
  count_part(&r, "bursts", play_bursts);
  count_part(&r, "bad", play_bad);
  settle(&r);
  fall_silent(&r);
  count_part(&r, "resting", play_silence);
  count_part(&r, "waking", play_noise);
  fall_silent(&r);
  stand_still(&r);
  count_part(&r, "moved", play_moved);
  defaults(&r);
  set_numbers(&r, 1.0F);
  settle(&r);
  count_part(&r, "upper", play_noise);
  set_numbers(&r, 0.0F);
  settle(&r);
  count_part(&r, "lower", play_noise);
  count_part(&r, "sweep", play_sweep);
  count_part(&r, "automation", play_automation);
  defaults(&r);
  settle(&r);
  count_part(&r, "switch", play_switch);
  defaults(&r);
  settle(&r);
  count_part(&r, "first", play_first);
  realtime_close(&r);
  return 0;
}
