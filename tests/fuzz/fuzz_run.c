// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fuzz target: a host that does to a plugin whatever LV2 allows.
///
/// A case is a form of a plugin, a sample rate and a series of steps: set a
/// control to any bits, connect or disconnect it, choose what comes in (NaN and
/// infinity too), play any number of frames, with buffers of its own or shared
/// ones, reactivate.
///
/// Two instances get the same: `whole` plays each block at once; `cut` plays it
/// in pieces, and is made anew where the other is reactivated.  Promises: both
/// play the same bits; outputs and meters are finite, meters in their ranges;
/// nothing is written beyond a buffer (also seen by the address sanitizer).

#include "tests/support/fuzz.h"

#include "plugins/shell.h"

#include <math.h>

#define MAX_PORTS   64
#define MAX_FRAMES  512U  ///< In one block
#define CASE_FRAMES 4096U ///< In one case
#define CASE_STEPS  256
#define OUT_LIMIT   1e9F ///< +180 dBFS: beyond is out of control
#define GUARD       4242.0F

/// Where inputs lie; LV2 allows all of these without lv2:inPlaceBroken
typedef enum {
  APART,    ///< In buffers of their own
  IN_PLACE, ///< In the output's buffer of the same channel
  CROSSED,  ///< In the output's buffer of the other channel
  COMMON    ///< Both channels in one buffer
} layout;

typedef struct {
  LV2_Handle handle;
  float      meter[MAX_PORTS];
  float*     out[MAX_CHANNELS]; ///< `n` frames and a guard
} twin;

typedef struct {
  const LV2_Descriptor* type;
  plugin_form           form;
  uint32_t              n_params, n_meters;
  double                rate_hz;
  float                 control[MAX_PORTS];
  uint64_t              connected; ///< Bit per control
  uint64_t              metered;   ///< Bit per meter
  layout                layout;
  uint32_t              kind; ///< Kind of input
  float                 level;
  uint32_t              seed;
  twin                  whole, cut;
} subject;

static uint32_t
count_forms(void)
{
  uint32_t n = 0;
  while (shell_descriptor(n)) {
    ++n;
  }
  return n;
}

static plugin_form
form_at(uint32_t index)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (index < shell_form_count(p)) {
      return shell_form(p, index);
    }
    index -= shell_form_count(p);
  }
  abort();
}

// ---------------------------------------------------------------------------
// Connections

static void
connect_control(const subject* s, const twin* t, uint32_t i)
{
  const bool is_there = s->connected >> i & 1U;
  s->type->connect_port(t->handle, i,
                        is_there ? (void*)(uintptr_t)&s->control[i] : NULL);
}

static void
connect_meter(const subject* s, twin* t, uint32_t i)
{
  s->type->connect_port(t->handle, s->n_params + i,
                        s->metered >> i & 1U ? &t->meter[i] : NULL);
}

static void
connect_all(const subject* s, twin* t)
{
  for (uint32_t i = 0; i < s->n_params; ++i) {
    connect_control(s, t, i);
  }
  for (uint32_t i = 0; i < s->n_meters; ++i) {
    connect_meter(s, t, i);
  }
}

static void
open_twin(const subject* s, twin* t)
{
  t->handle = s->type->instantiate(s->type, s->rate_hz, "", NULL);
  FUZZ_CHECK(t->handle, "%s at %g Hz", s->form.uri, s->rate_hz);
  connect_all(s, t);
  s->type->activate(t->handle);
}

static void
close_twin(const subject* s, twin* t)
{
  if (s->type->deactivate) {
    s->type->deactivate(t->handle);
  }
  s->type->cleanup(t->handle);
}

// ---------------------------------------------------------------------------
// Playing

/// Any rate that is allowed, often a usual one
static double
take_rate(fuzz_bytes* b)
{
  static const double usual[] = {8000,  11025, 22050,  44100, 48000,
                                 88200, 96000, 192000, 384000};
  const uint32_t      x       = fuzz_take(b, 2);
  return x < 0x8000U ? usual[x % 9U]
                     : 8000.0 + 376000.0 * (x & 0x7FFFU) / 32767.0;
}

static float
next_noise(subject* s)
{
  s->seed = s->seed * 1664525U + 1013904223U;
  return (float)(int32_t)s->seed / 2147483648.0F;
}

static float
next_sample(subject* s)
{
  static const float odd[] = {NAN,    INFINITY, -INFINITY, 1e30F,
                              -1e30F, 1e-40F,   0.0F,      -0.0F};
  switch (s->kind % 6U) {
    case 0:
      return s->level * next_noise(s); // `level` may be anything
    case 1:
      return 0.0F;
    case 2:
      return copysignf(s->level, next_noise(s));
    case 3:
      return odd[(s->kind >> 4U) % 8U];
    case 4:
      return s->level;
    default:
      return 0.25F * next_noise(s);
  }
}

static void
fill(subject* s, float* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = next_sample(s);
  }
}

/// The input buffer of channel `k`
static float*
input_of(const subject* s, const twin* t, float* const* in, uint32_t k)
{
  switch (s->layout) {
    case IN_PLACE:
      return t->out[k];
    case CROSSED:
      return t->out[MAX_CHANNELS - 1 - k];
    case COMMON:
      return in[0];
    default:
      return in[k];
  }
}

/// Runs frames `at` to `at + n` of the block
static void
run_part(const subject* s,
         const twin*    t,
         float* const*  in,
         uint32_t       at,
         uint32_t       n)
{
  const uint32_t audio = s->n_params + s->n_meters;
  for (uint32_t k = 0; k < s->form.n_in; ++k) {
    s->type->connect_port(t->handle, audio + k, input_of(s, t, in, k) + at);
  }
  for (uint32_t k = 0; k < s->form.n_out; ++k) {
    s->type->connect_port(t->handle, audio + s->form.n_in + k, t->out[k] + at);
  }
  s->type->run(t->handle, n);
}

/// Makes them exactly as long as the block, so that the address sanitizer sees
/// a frame too many; without it the guard does
static void
new_buffers(const subject* s, twin* t, float* const* in, uint32_t n)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    t->out[k] = malloc((n + 1) * sizeof(float));
    FUZZ_CHECK(t->out[k], "out of memory");
    t->out[k][n] = GUARD;
  }
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    float* const to = s->layout == CROSSED ? t->out[MAX_CHANNELS - 1 - k] //
                                           : t->out[k];
    memcpy(to, in[k], n * sizeof(float));
  }
}

static void
check_blocks(const subject* s, uint32_t n)
{
  for (uint32_t k = 0; k < s->form.n_out; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      const float a = s->whole.out[k][i];
      const float b = s->cut.out[k][i];
      FUZZ_CHECK(fabsf(a) < OUT_LIMIT, "%s: %g at %g Hz", s->form.uri,
                 (double)a, s->rate_hz);
      FUZZ_CHECK(memcmp(&a, &b, sizeof(a)) == 0,
                 "%s: frame %u is %.9g, and %.9g in pieces", s->form.uri, i,
                 (double)a, (double)b);
    }
    FUZZ_CHECK(s->whole.out[k][n] == GUARD, "%s: one frame too many",
               s->form.uri);
    FUZZ_CHECK(s->cut.out[k][n] == GUARD, "%s: one frame too many",
               s->form.uri);
  }
}

static void
check_meters(const subject* s)
{
  for (uint32_t i = 0; i < s->n_meters; ++i) {
    if (s->metered >> i & 1U) {
      const meter_info* const m = shell_meter(s->form.plugin, i);
      const float             x = s->whole.meter[i];
      FUZZ_CHECK(x >= m->min && x <= m->max, "%s: %s is %g", s->form.uri,
                 m->symbol, (double)x);
    }
  }
}

static void
play(subject* s, fuzz_bytes* b, uint32_t n)
{
  float* in[MAX_CHANNELS];
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    in[k] = malloc((n + 1) * sizeof(float));
    FUZZ_CHECK(in[k], "out of memory");
    fill(s, in[k], n);
  }
  new_buffers(s, &s->whole, in, n);
  new_buffers(s, &s->cut, in, n);

  run_part(s, &s->whole, in, 0, n);
  uint32_t at = 0;
  do {
    const uint32_t piece = fuzz_take(b, 1) % 97U; // 0 as well
    const uint32_t now   = piece && piece < n - at ? piece : n - at;
    run_part(s, &s->cut, in, at, piece ? now : 0);
    at += piece ? now : 0;
    if (b->at == b->end && at < n) { // Only zeros from here on
      run_part(s, &s->cut, in, at, n - at);
      at = n;
    }
  } while (at < n);
  check_blocks(s, n);
  check_meters(s);

  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    free(in[k]);
    free(s->whole.out[k]);
    free(s->cut.out[k]);
  }
}

// ---------------------------------------------------------------------------
// A case

static void
set_control(subject* s, fuzz_bytes* b, bool is_any)
{
  const uint32_t          i = fuzz_take(b, 1) % s->n_params;
  const param_info* const p = shell_param(s->form.plugin, i);
  s->control[i] =
    is_any ? fuzz_take_float(b)
           : p->min + (p->max - p->min) * (float)fuzz_take(b, 1) / 255.0F;
}

static void
reconnect(subject* s, fuzz_bytes* b)
{
  const uint32_t i = fuzz_take(b, 1) % (s->n_params + s->n_meters);
  if (i < s->n_params) {
    s->connected ^= 1ULL << i;
    connect_control(s, &s->whole, i);
    connect_control(s, &s->cut, i);
  } else {
    s->metered ^= 1ULL << (i - s->n_params);
    connect_meter(s, &s->whole, i - s->n_params);
    connect_meter(s, &s->cut, i - s->n_params);
  }
}

/// Reactivates `whole` and makes `cut` anew
static void
reactivate(subject* s)
{
  if (s->type->deactivate) {
    s->type->deactivate(s->whole.handle);
  }
  s->type->activate(s->whole.handle);
  close_twin(s, &s->cut);
  open_twin(s, &s->cut);
}

static void
choose_input(subject* s, fuzz_bytes* b)
{
  s->kind = fuzz_take(b, 1);
  if (s->kind & 8U) {
    s->level = fuzz_take_float(b);
  } else {
    s->level = ldexpf(1.0F, (int)(fuzz_take(b, 1) % 40U) - 30);
  }
}

/// Plays one step; returns the number of frames played
static uint32_t
step(subject* s, fuzz_bytes* b)
{
  const uint32_t what = fuzz_take(b, 1);
  switch (what % 8U) {
    case 0:
      set_control(s, b, true);
      return 0;
    case 1:
    case 2:
      set_control(s, b, false);
      return 0;
    case 3:
      reconnect(s, b);
      return 0;
    case 4:
      choose_input(s, b);
      return 0;
    case 5:
      if (what & 0x80U) {
        reactivate(s);
      } else {
        s->layout = (layout)(what >> 3U & 3U);
      }
      return 0;
    default: {
      const uint32_t n = fuzz_take(b, 2) % (MAX_FRAMES + 1U);
      play(s, b, n);
      return n;
    }
  }
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t size)
{
  fuzz_bytes     b     = {data, data + size};
  const uint32_t index = fuzz_take(&b, 1) % count_forms();
  subject        s     = {.type      = shell_descriptor(index),
                          .form      = form_at(index),
                          .rate_hz   = take_rate(&b),
                          .connected = UINT64_MAX,
                          .metered   = UINT64_MAX,
                          .kind      = 5,
                          .level     = 1.0F};
  FUZZ_CHECK(!strcmp(s.type->URI, s.form.uri), "%s", s.form.uri);
  s.n_params = shell_param_count(s.form.plugin);
  s.n_meters = shell_meter_count(s.form.plugin);
  for (uint32_t i = 0; i < s.n_params; ++i) {
    s.control[i] = shell_param(s.form.plugin, i)->def;
  }
  open_twin(&s, &s.whole);
  open_twin(&s, &s.cut);
  uint32_t n = 0;
  for (int i = 0; i < CASE_STEPS && n < CASE_FRAMES && b.at < b.end; ++i) {
    n += step(&s, &b);
  }
  close_twin(&s, &s.whole);
  close_twin(&s, &s.cut);
  return 0;
}
