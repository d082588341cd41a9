// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "probe.h"

#include "common/core/denormals.h"

#include <stdlib.h>
#include <string.h>

/// Played between two looks at `stop`: below 1 ms with any stage but the plate
enum { SLICE_FRAMES = 512, MAX_FRAMES = 48000 };

struct probe {
  stage              st;
  const atomic_bool* stop;
  void*              memory; ///< Of the state, for free()
};

/// Makes a state of zeros, aligned as stages want it
static void*
make_state(size_t size, void** memory)
{
  *memory = calloc(1, size + STAGE_ALIGNMENT);
  if (!*memory) {
    return NULL;
  }
  const size_t past = (uintptr_t)*memory % STAGE_ALIGNMENT;
  return (char*)*memory + (past ? STAGE_ALIGNMENT - past : 0U);
}

probe*
probe_new(const stage_ops* ops, uint32_t n_channels, const atomic_bool* stop)
{
  probe* const p = calloc(1, sizeof(*p));
  if (!p) {
    return NULL;
  }
  p->stop           = stop;
  void* const state = make_state(ops->size, &p->memory);
  if (!state || !stage_init(&p->st, ops, state, PROBE_RATE_HZ, n_channels)) {
    probe_free(p);
    return NULL;
  }
  p->st.mute_lines = STAGE_NEVER_MUTES; // A picture shows less than is heard
  return p;
}

void
probe_free(probe* p)
{
  if (p) {
    free(p->memory);
    free(p);
  }
}

void
probe_set(probe* p, const float* values)
{
  stage_set(&p->st, values);
  stage_reset(&p->st);
}

void
probe_glide(probe* p, const float* values)
{
  stage_set(&p->st, values);
}

void
probe_reset(probe* p)
{
  stage_reset(&p->st);
}

uint32_t
probe_latency(const probe* p)
{
  return p->st.ops->latency_frames(p->st.state);
}

void
probe_meter(const probe* p, void* meters)
{
  if (p->st.ops->meter) {
    p->st.ops->meter(p->st.state, meters);
  }
}

bool
probe_play(probe* p, const float* const* in, float* const* out, uint32_t n)
{
  const fp_mode mode = denormals_flush();
  for (uint32_t at = 0; at < n && !atomic_load(p->stop); at += SLICE_FRAMES) {
    const float* from[MAX_CHANNELS] = {in[0]};
    float*       to[MAX_CHANNELS]   = {out[0]};
    for (uint32_t k = 0; k < p->st.n_channels && k < MAX_CHANNELS; ++k) {
      from[k] = in[k] + at;
      to[k]   = out[k] + at;
    }
    const uint32_t left = n - at;
    stage_process(&p->st, from, to, p->st.n_channels,
                  left < SLICE_FRAMES ? left : SLICE_FRAMES);
  }
  denormals_restore(mode);
  return !atomic_load(p->stop);
}

bool
probe_play_one(probe* p, const float* in, float* out, uint32_t n)
{
  float other[SLICE_FRAMES] = {0};
  for (uint32_t at = 0; at < n; at += SLICE_FRAMES) {
    const uint32_t     left   = n - at;
    const float* const from[] = {in + at, in + at};
    float* const       to[]   = {out + at, other};
    if (!probe_play(p, from, to, left < SLICE_FRAMES ? left : SLICE_FRAMES)) {
      return false;
    }
  }
  return true;
}

bool
probe_click(probe* p, float gain, float* out, uint32_t n)
{
  const uint32_t latency           = probe_latency(p);
  float          in[SLICE_FRAMES]  = {gain};
  float          got[SLICE_FRAMES] = {0};
  stage_reset(&p->st);
  for (uint32_t at = 0; at < n + latency; at += SLICE_FRAMES) {
    if (!probe_play_one(p, in, got, SLICE_FRAMES)) {
      return false;
    }
    in[0] = 0.0F;
    for (uint32_t i = 0; i < SLICE_FRAMES; ++i) {
      if (at + i >= latency && at + i - latency < n) {
        out[at + i - latency] = got[i];
      }
    }
  }
  return true;
}

typedef struct {
  double re, im;
} phasor;

/// Returns the sum of x e^(-i w t) over n frames, the first being frame `first`
static phasor
transform(const float* x, uint32_t n, double w, double first)
{
  const phasor turn = {cos(w), -sin(w)};
  phasor       at   = {cos(w * first), -sin(w * first)};
  phasor       sum  = {0, 0};
  for (uint32_t i = 0; i < n; ++i) {
    const double y = (double)x[i];
    sum.re += y * at.re;
    sum.im += y * at.im;
    at = (phasor){at.re * turn.re - at.im * turn.im,
                  at.re * turn.im + at.im * turn.re};
  }
  return sum;
}

double
probe_spectrum_db(const float* x, uint32_t n, double hz)
{
  const phasor sum = transform(x, n, 2 * DSP_PI * hz / PROBE_RATE_HZ, 0);
  return gain_to_db(fmax(hypot(sum.re, sum.im), 1e-10));
}

bool
probe_response(probe*       p,
               float        gain,
               uint32_t     frames,
               const float* hz,
               float*       db,
               uint32_t     n_hz)
{
  const uint32_t n  = frames < MAX_FRAMES ? frames : MAX_FRAMES;
  float* const   x  = malloc(n * sizeof(float));
  bool           ok = x && probe_click(p, gain, x, n);
  for (uint32_t i = 0; ok && i < n_hz; ++i) {
    db[i] = (float)(probe_spectrum_db(x, n, (double)hz[i]) -
                    gain_to_db((double)gain));
    ok    = !atomic_load(p->stop);
  }
  free(x);
  return ok;
}

/// Plays the tone on from frame `at`
static bool
play_sine(probe* p, const probe_tone* t, uint32_t at, float* x, uint32_t n)
{
  const double w = 2 * DSP_PI * t->hz / PROBE_RATE_HZ;
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = (float)(t->peak * sin(w * (double)(at + i)));
  }
  return probe_play_one(p, x, x, n);
}

static void
measure(const float* x, uint32_t n, probe_answer* a)
{
  double squares = 0;
  for (uint32_t i = 0; i < n; ++i) {
    const double y = (double)x[i];
    squares += y * y;
    a->peak = fmax(a->peak, fabs(y));
  }
  a->rms = sqrt(squares / n);
}

bool
probe_sine(probe*            p,
           const probe_tone* tone,
           uint32_t          n_harmonics,
           probe_answer*     answer)
{
  const uint32_t latency = probe_latency(p);
  const uint32_t settle  = (uint32_t)(tone->settle_s * PROBE_RATE_HZ) + latency;
  const double   periods = fmax(round(tone->count_s * tone->hz), 1.0);
  const uint32_t n       = (uint32_t)round(periods * PROBE_RATE_HZ / tone->hz);
  float          slice[SLICE_FRAMES];
  float* const   x  = malloc(n * sizeof(float));
  bool           ok = x != NULL;

  memset(answer, 0, sizeof(*answer));
  stage_reset(&p->st);
  for (uint32_t at = 0; ok && at < settle; at += SLICE_FRAMES) {
    const uint32_t left = settle - at;
    ok =
      play_sine(p, tone, at, slice, left < SLICE_FRAMES ? left : SLICE_FRAMES);
  }
  ok = ok && play_sine(p, tone, settle, x, n);
  if (ok) {
    measure(x, n, answer);
    const double w = 2 * DSP_PI * tone->hz / PROBE_RATE_HZ;
    for (uint32_t k = 1; k <= n_harmonics && k <= PROBE_MAX_HARMONICS; ++k) {
      const phasor sum =
        transform(x, n, k * w, (double)settle - (double)latency);
      answer->amplitude[k] = 2 * hypot(sum.re, sum.im) / n;
      answer->phase[k]     = atan2(sum.re, -sum.im); // Of a sine
    }
  }
  free(x);
  return ok;
}
