// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "noise.h"

#include <math.h>
#include <string.h>

#define LINE_HZ (PROBE_RATE_HZ / NOISE_FRAMES)

/// Returns a random phase as a place in the period; the same ones each time
static uint32_t
next_phase(uint32_t* seed)
{
  *seed = *seed * 1664525U + 1013904223U; // From memory
  return (*seed >> 8U) % NOISE_FRAMES;
}

void
noise_make(noise* s, double lo_hz, double hi_hz, double lines_per_octave)
{
  uint32_t bin[NOISE_MAX_LINES]   = {0};
  uint32_t phase[NOISE_MAX_LINES] = {0};
  uint32_t seed                   = 1;
  double   wave[NOISE_FRAMES]; // A period of a sine
  memset(s, 0, sizeof(*s));
  for (uint32_t i = 0; s->n_lines < NOISE_MAX_LINES; ++i) {
    const double   hz   = lo_hz * exp2(i / lines_per_octave);
    const uint32_t next = (uint32_t)lrint(hz / LINE_HZ);
    if (hz > hi_hz) {
      break;
    }
    if (s->n_lines == 0 || next > bin[s->n_lines - 1]) {
      bin[s->n_lines]   = next;
      phase[s->n_lines] = next_phase(&seed);
      s->hz[s->n_lines] = (float)(next * LINE_HZ);
      ++s->n_lines;
    }
  }
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    wave[i] = sin(2 * DSP_PI * i / NOISE_FRAMES);
  }
  const double peak = sqrt(2.0 / fmax(s->n_lines, 1));
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    double sum = 0;
    for (uint32_t k = 0; k < s->n_lines; ++k) {
      sum += wave[(bin[k] * i + phase[k]) % NOISE_FRAMES];
    }
    s->x[i] = (float)(peak * sum);
  }
}

bool
noise_play(const noise* s, probe* p, double rms, uint32_t settle, float* y)
{
  probe_reset(p);
  for (uint32_t k = 0; k <= settle; ++k) {
    for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
      y[i] = (float)rms * s->x[i];
    }
    if (!probe_play_one(p, y, y, NOISE_FRAMES)) {
      return false;
    }
  }
  return true;
}

double
noise_read(const noise* s, double rms, const float* y, float* gain_db)
{
  const double peak    = rms * sqrt(2.0 / fmax(s->n_lines, 1));
  double       sum     = 0;
  double       squares = 0;
  double       lines   = 0;
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    sum += (double)y[i];
    squares += (double)y[i] * (double)y[i];
  }
  const double mean  = sum / NOISE_FRAMES;
  const double power = squares / NOISE_FRAMES - mean * mean;
  for (uint32_t k = 0; k < s->n_lines; ++k) {
    const double db = probe_spectrum_db(y, NOISE_FRAMES, (double)s->hz[k]);
    const double amplitude = 2 * db_to_gain(db) / NOISE_FRAMES;
    lines += 0.5 * amplitude * amplitude;
    gain_db[k] = (float)gain_to_db(fmax(amplitude / peak, 1e-10));
  }
  return power > 0 ? 100 * sqrt(fmax(1 - lines / power, 0.0)) : 0;
}
