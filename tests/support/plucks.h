// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Playing for tests of level and loudness: plucked strings (K. Karplus, A.
/// Strong, "Digital Synthesis of Plucked-String and Drum Timbres", Computer
/// Music J. 7(2), 1983), in chords and single notes, at -18 dBFS RMS; and
/// loudness after ITU-R BS.1770-5.  48 kHz.

#ifndef TESTS_SUPPORT_PLUCKS_H
#define TESTS_SUPPORT_PLUCKS_H

#include "check.h"

enum { PLUCK_MAX_PERIOD = 600 };

/// Adds one note to `x`: `n` frames long, `amp` high, `mute` 0 (open) to 1
static inline void
pluck_add(float*    x,
          uint32_t  n,
          double    f_hz,
          double    amp,
          double    mute,
          uint32_t* seed)
{
  float          line[PLUCK_MAX_PERIOD];
  const double   period = 48000.0 / f_hz - 0.5;
  const uint32_t size   = (uint32_t)period;
  double         soft   = 0.0;
  for (uint32_t i = 0; i < size; ++i) { // A softened noise burst
    soft += 0.4 * ((double)check_noise(seed) - soft);
    line[i] = (float)(amp * soft);
  }

  const double keep  = pow(10.0, -3.0 / ((mute > 0.0 ? 0.5 : 5.0) * f_hz));
  const double blend = 0.05 + 0.3 * mute;
  double       last  = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const uint32_t k    = i % size;
    const double   v    = (double)line[k];
    const double   fade = n - i < 480 ? (n - i) / 480.0 : 1.0;
    x[i] += (float)(v * fade);
    line[k] = (float)(keep * ((1.0 - blend) * v + blend * last));
    last    = v;
  }
}

/// Semitones above E2
static inline double
pluck_hz(int semitones)
{
  return 82.407 * pow(2.0, semitones / 12.0);
}

typedef enum { PLUCKS_RIFF, PLUCKS_CHORDS, PLUCKS_LEAD, N_PLUCKS } plucks;

/// Eighth notes at 96 bpm, 15000 frames each
static inline void
plucks_render(plucks what, float* x, uint32_t n)
{
  static const int riff[8]     = {0, 0, 12, 0, 10, 0, 7, 5};
  static const int muted[8]    = {1, 1, 0, 1, 0, 1, 0, 0};
  static const int chord[4][4] = {
    {0, 7, 12, 15}, {8, 15, 20, 24}, {3, 10, 15, 19}, {10, 17, 22, 26}};
  static const int lead[8] = {24, 27, 29, 31, 34, 31, 29, 26};
  uint32_t         seed    = 7;
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = 1e-4F * check_noise(&seed);
  }
  for (uint32_t beat = 0; (beat + 4) * 15000 < n; ++beat) {
    float* const at  = x + (size_t)beat * 15000;
    const double amp = 0.8 + 0.3 * (double)check_noise(&seed);
    if (what == PLUCKS_RIFF) {
      const int m = muted[beat % 8];
      pluck_add(at, 14400, pluck_hz(riff[beat % 8]), amp, m, &seed);
    } else if (what == PLUCKS_LEAD && beat % 2 == 0) {
      pluck_add(at, 29000, pluck_hz(lead[beat / 2 % 8]), amp, 0.0, &seed);
    } else if (what == PLUCKS_CHORDS && beat % 4 != 3) {
      const uint32_t length = beat % 4 == 0 ? 29000 : 14400;
      for (uint32_t k = 0; k < 4 && beat % 4 != 1; ++k) {
        const int note = chord[beat / 8 % 4][k];
        pluck_add(at + (size_t)k * 500, length, pluck_hz(note), amp, 0.0,
                  &seed);
      }
    }
  }
}

/// Sections of the K-weighting at 48 kHz (ITU-R BS.1770-5, tables 1 and 2)
static inline double
k_weighted(double v, double* s)
{
  const double w = 1.53512485958697 * v + s[0];
  s[0]           = -2.69169618940638 * v + 1.69065929318241 * w + s[1];
  s[1]           = 1.19839281085285 * v - 0.73248077421585 * w;

  const double y = w + s[2];
  s[2]           = -2.0 * w + 1.99004745483398 * y + s[3];
  s[3]           = w - 0.99007225036621 * y;
  return y;
}

/// Returns the mean power of the blocks of 400 ms, every 100 ms, above `gate`
static inline double
gated_power(const double* tenth, uint32_t n_tenths, double gate)
{
  double   sum = 0.0;
  uint32_t n   = 0;
  for (uint32_t i = 0; i + 4 <= n_tenths; ++i) {
    const double p =
      0.25 * (tenth[i] + tenth[i + 1] + tenth[i + 2] + tenth[i + 3]);
    if (p > gate) {
      sum += p;
      ++n;
    }
  }
  return n ? sum / n : 1e-12;
}

/// Returns the gated level with the gates of BS.1770-5 (-70 LUFS, then -10 LU):
/// with `weighted` the integrated loudness in LUFS, else RMS in dBFS
static inline double
plucks_level(const float* x, uint32_t n, bool weighted)
{
  double         tenth[600];
  double         s[4]     = {0.0};
  const uint32_t n_tenths = n / 4800;
  for (uint32_t i = 0; i < n_tenths; ++i) {
    tenth[i] = 0.0;
    for (uint32_t k = 0; k < 4800; ++k) {
      const double v = (double)x[i * 4800 + k];
      const double y = weighted ? k_weighted(v, s) : v;
      tenth[i] += y * y / 4800.0;
    }
  }
  const double ungated  = gated_power(tenth, n_tenths, 1.17e-7);
  const double relative = gated_power(tenth, n_tenths, 0.1 * ungated);
  return 10.0 * log10(relative) - (weighted ? 0.691 : 0.0);
}

/// Makes a take at -18 dBFS RMS
static inline void
plucks_take(plucks what, float* x, uint32_t n)
{
  plucks_render(what, x, n);
  const double gain = db_to_gain(ALIGN_RMS_DBFS - plucks_level(x, n, false));
  for (uint32_t i = 0; i < n; ++i) {
    x[i] *= (float)gain;
  }
}

#endif // TESTS_SUPPORT_PLUCKS_H
