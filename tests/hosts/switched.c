// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_switched TREATED DRY
///
/// Two mono recordings of the same moment at 48 kHz: of a track whose plugins
/// were all switched off for a while, and of one without plugins.  Finds when
/// the first was nothing but the second times a gain, and prints for how long
/// (s), how far what is left lies below it (dB), the gain (dB), how much it
/// moved (dB), and by how much the dry sound with this gain is louder than the
/// treated one before (LU; ITU-R BS.1770-4 by libebur128).

#include <ebur128.h>
#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define RATE_HZ  48000
#define PIECE    12000 // Frames: a quarter of a second
#define SAME_DB  (-100.0)
#define HEARD_DB (-60.0) // RMS; less is no playing

typedef struct {
  double gain, left_db, level_db;
} piece;

/// What was found; `from` and `to` count pieces
typedef struct {
  long   from, to;
  double left_db, gain, least, most;
} switched;

static void
give_up(const char* what, const char* which)
{
  fprintf(stderr, "host_switched: %s: %s\n", which, what);
  exit(2);
}

static float*
read_mono(const char* path, sf_count_t* n)
{
  SF_INFO        info = {.format = 0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  if (!file || info.samplerate != RATE_HZ || info.channels != 1) {
    give_up("expected one channel at 48 kHz", path);
  }
  float* const x = (float*)calloc((size_t)info.frames + 1, sizeof(float));
  if (!x || sf_readf_float(file, x, info.frames) != info.frames) {
    give_up("cannot be read", path);
  }
  sf_close(file);
  *n = info.frames;
  return x;
}

static double
to_db(double power)
{
  return 10 * log10(power + 1e-30);
}

/// The gain that leaves least of x - gain * y, and what it leaves
static piece
compare(const float* x, const float* y)
{
  double xx = 0;
  double xy = 0;
  double yy = 0;
  double rr = 0;
  for (int i = 0; i < PIECE; ++i) {
    xx += (double)x[i] * (double)x[i];
    xy += (double)x[i] * (double)y[i];
    yy += (double)y[i] * (double)y[i];
  }
  const double gain = xy / (yy + 1e-30);
  for (int i = 0; i < PIECE; ++i) {
    const double r = (double)x[i] - gain * (double)y[i];
    rr += r * r;
  }
  return (piece){gain, to_db(rr) - to_db(xx), to_db(xx / PIECE)};
}

/// The first pieces in a row that are the same but for a gain
static switched
find(const float* x, const float* y, long n)
{
  switched s = {-1, -1, -999, 0, 1e9, 0};
  for (long i = 0; i < n; ++i) {
    const piece p = compare(x + i * PIECE, y + i * PIECE);
    if (p.level_db > HEARD_DB && p.left_db < SAME_DB) {
      s.from    = s.from < 0 ? i : s.from;
      s.to      = i + 1;
      s.gain    = p.gain;
      s.left_db = fmax(s.left_db, p.left_db);
      s.least   = fmin(s.least, p.gain);
      s.most    = fmax(s.most, p.gain);
    } else if (s.from >= 0) {
      break;
    }
  }
  return s;
}

static double
loudness(const float* x, size_t n)
{
  double         lu    = 0;
  ebur128_state* state = ebur128_init(1, RATE_HZ, EBUR128_MODE_I);
  if (!state || ebur128_add_frames_float(state, x, n) ||
      ebur128_loudness_global(state, &lu)) {
    give_up("no loudness", "libebur128");
  }
  ebur128_destroy(&state);
  return lu;
}

int
main(int argc, char** argv)
{
  if (argc != 3) {
    fprintf(stderr, "usage: host_switched TREATED DRY\n");
    return 2;
  }
  sf_count_t     nx = 0;
  sf_count_t     ny = 0;
  float* const   x  = read_mono(argv[1], &nx);
  float* const   y  = read_mono(argv[2], &ny);
  const switched s  = find(x, y, (long)((nx < ny ? nx : ny) / PIECE));
  if (s.from < 2) {
    puts("0 0 0 0 0"); // Never, or from the start: nothing to compare with
  } else {
    const size_t before =
      (size_t)(s.from - 1) * PIECE; // It switched in the last
    printf(
      "%.2f %.1f %.2f %.4f %.2f\n", (double)(s.to - s.from) * PIECE / RATE_HZ,
      s.left_db, 20 * log10(fabs(s.gain)), 20 * log10(s.most / s.least),
      loudness(y, before) + 20 * log10(fabs(s.gain)) - loudness(x, before));
  }
  free(x);
  free(y);
  return 0;
}
