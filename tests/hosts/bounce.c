// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the check of a workstation needs of sound files at 48 kHz:
///
/// host_bounce sine OUT            writes the tone of the click tests, 2.4 s
/// host_bounce cut IN AT N CHANNEL OUT
///                                 writes N frames of a channel, from frame AT
///                                 on; CHANNEL "all" keeps all
/// host_bounce same GAIN A B       is B exactly GAIN times A?
/// host_bounce null A B            how far A - B is below A
/// host_bounce clicks A AT...      the loudest peak above 4 kHz after each
/// frame
///
/// The last three print one line; its first word is the answer.

#include "tests/support/click.h"

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ 48000

typedef struct {
  SF_INFO info;
  float*  x; ///< Interleaved
} sound;

static void
give_up(const char* what, const char* which)
{
  fprintf(stderr, "host_bounce: %s: %s\n", which, what);
  exit(2);
}

static size_t
n_samples(const sound* s)
{
  return (size_t)s->info.frames * (size_t)s->info.channels;
}

static float*
new_samples(size_t n)
{
  float* const x = (float*)calloc(n + 1, sizeof(float));
  if (!x) {
    give_up("out of memory", "samples");
  }
  return x;
}

static sound
sound_read(const char* path)
{
  sound          s    = {.x = NULL};
  SNDFILE* const file = sf_open(path, SFM_READ, &s.info);
  if (!file || s.info.samplerate != RATE_HZ || s.info.frames < 1) {
    give_up("expected a sound at 48 kHz", path);
  }
  s.x = new_samples(n_samples(&s));
  if (sf_readf_float(file, s.x, s.info.frames) != s.info.frames) {
    give_up("is cut off", path);
  }
  sf_close(file);
  return s;
}

static void
sound_write(const char* path, const float* x, sf_count_t n, int n_channels)
{
  SF_INFO        info = {.channels   = n_channels,
                         .samplerate = RATE_HZ,
                         .format     = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  if (!file || sf_writef_float(file, x, n) != n || sf_close(file)) {
    give_up("cannot write", path);
  }
}

/// Both ends are faded so softly that they do not ring above 4 kHz
static int
sine(char** words)
{
  enum { N = 24 * RATE_HZ / 10 };
  static float x[N];
  check_sine(x, N, CLICK_SINE_HZ, sqrt(2.0) * db_to_gain(ALIGN_RMS_DBFS),
             RATE_HZ);
  for (uint32_t i = 0; i < N; ++i) {
    const uint32_t from_end = i < N - 1 - i ? i : N - 1 - i;
    const double   t        = fmin(from_end / (0.2 * RATE_HZ), 1.0);
    x[i] *= (float)pow(0.5 - 0.5 * cos(DSP_PI * t), 4.0);
  }
  sound_write(words[0], x, N, 1);
  return 0;
}

static int
cut(char** words)
{
  sound            s   = sound_read(words[0]);
  const sf_count_t at  = strtol(words[1], NULL, 10);
  const sf_count_t n   = strtol(words[2], NULL, 10);
  const bool       all = !strcmp(words[3], "all");
  const int        k   = all ? 0 : (int)strtol(words[3], NULL, 10);
  if (at < 0 || n < 1 || at + n > s.info.frames || k < 0 ||
      k >= s.info.channels) {
    give_up("has no such frames or channel", words[0]);
  }
  float* const from = s.x + at * s.info.channels;
  for (sf_count_t i = 0; !all && i < n; ++i) {
    from[i] = from[i * s.info.channels + k];
  }
  sound_write(words[4], from, n, all ? s.info.channels : 1);
  free(s.x);
  return 0;
}

/// Reads two sounds, which must have as many frames and channels
static void
read_both(char** words, sound* a, sound* b)
{
  *a = sound_read(words[0]);
  *b = sound_read(words[1]);
  if (a->info.frames != b->info.frames ||
      a->info.channels != b->info.channels) {
    give_up("expected as many frames and channels as in the other", words[1]);
  }
}

typedef struct {
  double     peak_db, rms_db, all_db; ///< Of the difference; RMS of A
  sf_count_t first;                   ///< Frame that differs
} difference;

static difference
compare(const sound* a, double gain, const sound* b)
{
  difference d    = {.first = -1};
  double     peak = 0.0, sum = 0.0, all = 0.0;
  for (size_t i = 0; i < n_samples(a); ++i) {
    const double want = gain * (double)a->x[i];
    const double e    = want - (double)b->x[i];
    if (e != 0.0 && d.first < 0) {
      d.first = (sf_count_t)i / a->info.channels;
    }
    peak = fmax(peak, fabs(e));
    sum += e * e;
    all += want * want;
  }
  d.peak_db = gain_to_db(peak + 1e-12);
  d.rms_db  = gain_to_db(sqrt(sum / (double)n_samples(a)) + 1e-12);
  d.all_db  = gain_to_db(sqrt(all / (double)n_samples(a)) + 1e-12);
  return d;
}

static bool
has_sound(const sound* a)
{
  for (size_t i = 0; i < n_samples(a); ++i) {
    if (fabsf(a->x[i]) > 1e-3F) {
      return true;
    }
  }
  return false;
}

static int
same(char** words)
{
  sound a, b;
  read_both(words + 1, &a, &b);
  const difference d = compare(&a, strtod(words[0], NULL), &b);
  if (!has_sound(&a)) {
    printf("differs: no sound to compare\n");
  } else if (d.first < 0) {
    printf("identical, %.1f s\n", (double)a.info.frames / RATE_HZ);
  } else {
    printf("differs from frame %ld on, by %.1f dBFS at most\n", (long)d.first,
           d.peak_db);
  }
  free(a.x);
  free(b.x);
  return 0;
}

static int
null_depth(char** words)
{
  sound a, b;
  read_both(words, &a, &b);
  const difference d = compare(&a, 1.0, &b);
  printf("%.1f dB below the mix (peak %.1f dBFS)\n", d.rms_db - d.all_db,
         d.peak_db);
  free(a.x);
  free(b.x);
  return 0;
}

/// Returns the RMS of the tone's last periods before frame `at` minus those
/// 0.4 s later
static double
change_db(const sound* a, uint32_t at)
{
  enum { PERIODS = 2400, LATER = 8 * PERIODS }; // 11 periods of 220 Hz
  const float* const before = a->x + 2 * (size_t)(at - PERIODS);
  const float* const after  = a->x + 2 * (size_t)(at - PERIODS + LATER);
  double             sum    = 0.0;
  for (uint32_t i = 0; i < 2 * PERIODS; ++i) {
    const double e = (double)after[i] - (double)before[i];
    sum += e * e;
  }
  return gain_to_db(sqrt(sum / (2 * PERIODS)) + 1e-12);
}

/// Takes the louder channel for each peak
static int
clicks(char** words)
{
  sound          a = sound_read(words[0]);
  const uint32_t n = (uint32_t)a.info.frames;
  double* const  x = (double*)calloc((size_t)n * 2, sizeof(double));
  if (!x || a.info.channels != 2) {
    give_up("expected two channels", words[0]);
  }
  for (uint32_t i = 0; i < n; ++i) {
    x[i]     = (double)a.x[2 * i];
    x[n + i] = (double)a.x[2 * i + 1];
  }
  click_high_pass(x, n, CLICK_EDGE_HZ, RATE_HZ);
  click_high_pass(x + n, n, CLICK_EDGE_HZ, RATE_HZ);
  const uint32_t length = RATE_HZ * 4 / 10;
  for (char** word = words + 1; *word; ++word) {
    const uint32_t at = (uint32_t)strtoul(*word, NULL, 10);
    if (at < length || at > n - length) {
      give_up("has too little sound around", *word);
    }
    printf(
      "%.1f %.1f ",
      fmax(click_peak_db(x + at, length), click_peak_db(x + n + at, length)),
      change_db(&a, at));
  }
  printf("\n");
  free(x);
  free(a.x);
  return 0;
}

int
main(int argc, char** argv)
{
  static const struct {
    const char* word;
    int         n_words;
    int (*run)(char** words);
  } commands[] = {{"sine", 1, sine},
                  {"cut", 5, cut},
                  {"same", 3, same},
                  {"null", 2, null_depth},
                  {"clicks", 0, clicks}};

  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    const bool fits =
      commands[i].n_words ? argc == 2 + commands[i].n_words : argc > 3;
    if (argc > 1 && !strcmp(argv[1], commands[i].word) && fits) {
      return commands[i].run(argv + 2);
    }
  }
  fprintf(stderr, "usage: host_bounce sine | cut | same | null | "
                  "clicks, see the source\n");
  return 2;
}
