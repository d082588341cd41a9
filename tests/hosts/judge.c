// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_judge: for each line on stdin, one line on stdout
///
///   [-m] URI IN.wav OUT.wav [symbol=value]...
///
/// Plays IN.wav through a plugin and compares the result with OUT.wav, that of
/// another host.  The answer begins with "identical" (every frame, though more
/// may follow) or says what is different.
///
/// -m: the controls given must make a difference to the plugin.  How long the
/// other host ran it on silence first does not matter (common/core/stage.h).

#include "part.h"

#include <sndfile.h>

#include <math.h>

#define BLOCK     512U
#define MAX_WORDS 72 // In a line

typedef struct {
  uint32_t n_frames, n_channels;
  float*   x[2];
} sound;

static float*
zeros(uint32_t n)
{
  float* const x = (float*)calloc(n + 1, sizeof(float));
  if (!x) {
    part_exit("out of memory", "the sound");
  }
  return x;
}

/// Reads a sound of one or two channels at 48 kHz; false, with no samples in
/// `s`, for anything else or if it is cut off
static bool
sound_read(const char* path, sound* s)
{
  SF_INFO        info = {0};
  SNDFILE* const file = sf_open(path, SFM_READ, &info);
  const bool     fits = file && info.channels >= 1 && info.channels <= 2 &&
                    info.samplerate == (int)PART_RATE_HZ;
  *s = (sound){0};
  if (fits) {
    *s = (sound){(uint32_t)info.frames, (uint32_t)info.channels, {NULL, NULL}};
  }
  float* const mixed = zeros(s->n_frames * s->n_channels);
  const bool   whole =
    fits && sf_readf_float(file, mixed, info.frames) == info.frames;
  if (file) {
    sf_close(file);
  }
  for (uint32_t k = 0; whole && k < 2; ++k) {
    s->x[k] = zeros(s->n_frames);
    for (uint32_t i = 0; i < s->n_frames; ++i) {
      s->x[k][i] = mixed[i * s->n_channels + (k < s->n_channels ? k : 0)];
    }
  }
  free(mixed);
  return whole;
}

static sound
sound_silent(uint32_t n_frames, uint32_t n_channels)
{
  return (sound){n_frames, n_channels, {zeros(n_frames), zeros(n_frames)}};
}

static void
sound_free(sound* s)
{
  free(s->x[0]);
  free(s->x[1]);
}

typedef struct {
  uint32_t n_same;   ///< Equal frames from the start
  double   worst;    ///< Largest difference of all
  double   end_peak; ///< Peak of what the other host appended
} verdict;

static bool
frames_alike(const sound* a, const sound* b, uint32_t at, uint32_t n)
{
  bool alike = true;
  for (uint32_t k = 0; k < a->n_channels; ++k) {
    alike = alike && !memcmp(a->x[k] + at, b->x[k] + at, n * sizeof(float));
  }
  return alike;
}

static verdict
compare(const sound* mine, const sound* other)
{
  verdict        v = {0};
  const uint32_t n =
    mine->n_frames < other->n_frames ? mine->n_frames : other->n_frames;
  while (v.n_same < n && frames_alike(mine, other, v.n_same, 1)) {
    ++v.n_same;
  }
  for (uint32_t k = 0; k < mine->n_channels; ++k) {
    for (uint32_t i = v.n_same; i < n; ++i) {
      v.worst =
        fmax(v.worst, fabs((double)mine->x[k][i] - (double)other->x[k][i]));
    }
    for (uint32_t i = n; i < other->n_frames; ++i) {
      v.end_peak = fmax(v.end_peak, fabs((double)other->x[k][i]));
    }
  }
  return v;
}

static void
print_verdict(const sound* mine, const sound* other)
{
  const verdict v = compare(mine, other);
  if (other->n_channels != mine->n_channels) {
    printf("%u channels, not %u\n", other->n_channels, mine->n_channels);
  } else if (v.n_same == mine->n_frames) {
    printf("identical");
    if (other->n_frames > mine->n_frames) {
      printf(", then %u frames (peak %.3g)", other->n_frames - mine->n_frames,
             v.end_peak);
    }
    printf("\n");
  } else if (v.n_same == other->n_frames) {
    printf("stops at frame %u of %u, equal until then\n", v.n_same,
           mine->n_frames);
  } else {
    printf("differs from frame %u on, by %.1f dBFS at most\n", v.n_same,
           20.0 * log10(v.worst));
  }
}

/// Plays all in a new instance
static void
play_fresh(part* y, const sound* in, sound* out)
{
  part_start(y);
  for (uint32_t at = 0; at < in->n_frames; at += BLOCK) {
    const uint32_t n = in->n_frames - at < BLOCK ? in->n_frames - at : BLOCK;
    part_run(y, in->x, out->x, at, n);
  }
  part_stop(y);
}

/// Do the controls' defaults give the same?
static bool
is_default(LilvWorld* w, const part* set, const sound* in, const sound* out)
{
  part  plain = part_of(w, set->plugin);
  sound y     = sound_silent(in->n_frames, plain.n_out);
  play_fresh(&plain, in, &y);
  const bool alike = frames_alike(&y, out, 0, in->n_frames);
  sound_free(&y);
  return alike;
}

/// `words` are URI, IN, OUT (both read already) and settings
static void
judge(LilvWorld* w,
      bool       must_differ,
      char**     words,
      int        n_words,
      sound      in,
      sound      other)
{
  part  y   = part_of(w, part_find(w, words[0]));
  sound out = sound_silent(in.n_frames, y.n_out);
  if (in.n_channels != y.n_in) {
    part_exit("not the plugin's number of channels", words[1]);
  }
  for (int i = 3; i < n_words; ++i) {
    part_set(&y, w, words[i]);
  }
  play_fresh(&y, &in, &out);
  if (must_differ && is_default(w, &y, &in, &out)) {
    printf("the controls make no difference\n");
  } else {
    print_verdict(&out, &other);
  }
  sound_free(&out);
}

/// An unreadable file makes an answer, not an error
static void
answer(LilvWorld* w, bool must_differ, char** words, int n_words)
{
  sound in    = {0};
  sound other = {0};
  if (!sound_read(words[1], &in)) {
    printf("no comparison: no sound in %s\n", words[1]);
  } else if (!sound_read(words[2], &other)) {
    printf(
      "no comparison: no sound at 48 kHz of one or two channels came out\n");
  } else {
    judge(w, must_differ, words, n_words, in, other);
  }
  fflush(stdout);
  sound_free(&in);
  sound_free(&other);
}

int
main(void)
{
  LilvWorld* const w = lilv_world_new();
  lilv_world_load_all(w);
  char*  line = NULL;
  size_t size = 0;
  while (getline(&line, &size, stdin) > 0) {
    char* words[MAX_WORDS];
    int   n = 0;
    for (char* word = strtok(line, " \n"); word && n < MAX_WORDS;
         word       = strtok(NULL, " \n")) {
      words[n++] = word;
    }
    const bool must_differ = n > 0 && !strcmp(words[0], "-m");
    const int  first       = must_differ ? 1 : 0;
    if (n - first < 3) {
      part_exit("stdin", "expected [-m] URI IN OUT [symbol=value]...");
    }
    answer(w, must_differ, words + first, n - first);
  }
  free(line);
  lilv_world_free(w);
  return 0;
}
