// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_sound FRAMES MONO.wav STEREO.wav
/// Writes falling notes with a little noise, at 48 kHz in 32-bit float: about
/// -21 dBFS RMS, so low that the outputs stay below full scale, where some
/// hosts clip

#include <sndfile.h>

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define RATE_HZ 48000.0

/// Uniform in -1 to 1; the same on every run
static double
noise(uint32_t* seed)
{
  *seed = *seed * 1664525U + 1013904223U;
  return (double)*seed / 2147483648.0 - 1.0;
}

static double
frame(uint32_t i, uint32_t channel, uint32_t* seed)
{
  const double w = 2.0 * 3.14159265358979323846 * (1.0 + channel) * i / RATE_HZ;
  const double fall = exp(-6.0 * fmod(i / RATE_HZ, 0.25));
  return fall *
         (0.2 * (sin(110.0 * w) + 0.4 * sin(1730.0 * w)) + 0.02 * noise(seed));
}

static int
write_sound(const char* path, uint32_t n_frames, int n_channels)
{
  SF_INFO        info = {.channels   = n_channels,
                         .samplerate = (int)RATE_HZ,
                         .format     = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  uint32_t       seed = 1;
  sf_count_t     n    = 0;
  for (uint32_t i = 0; file && i < n_frames; ++i) {
    const double left = frame(i, 0, &seed);
    const float  x[]  = {(float)left,
                         (float)(0.5 * left + 0.5 * frame(i, 1, &seed))};
    n += sf_writef_float(file, x, 1);
  }
  if (!file || sf_close(file) || n != n_frames) {
    fprintf(stderr, "cannot write %s\n", path);
    return 1;
  }
  return 0;
}

int
main(int argc, char** argv)
{
  if (argc != 4) {
    fprintf(stderr, "usage: %s FRAMES MONO.wav STEREO.wav\n", argv[0]);
    return 2;
  }
  const uint32_t n = (uint32_t)strtoul(argv[1], NULL, 10);
  return write_sound(argv[2], n, 1) || write_sound(argv[3], n, 2);
}
