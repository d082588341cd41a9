// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_judge: for each line on stdin, one line on stdout
///
///   [-m] [-l STEP] URI IN.wav OUT.wav [symbol=value]...
///
/// Plays IN.wav through a plugin and compares the result with OUT.wav, that of
/// another host.  The answer begins with "identical" (every frame, though more
/// may follow) or says what is different.
///
/// -m: the controls given must make a difference to the plugin.
/// -l STEP: the other host ran the plugin on silence first, for an unknown
/// multiple of STEP frames; any of them will do.

#include "part.h"

#include <sndfile.h>

#include <math.h>
#include <sys/wait.h>
#include <unistd.h>

#define BLOCK     512U
#define MAX_STEPS 2000U
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
print_verdict(const sound* mine, const sound* other, unsigned lead)
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
    if (lead) {
      printf(", after %u frames of silence", lead);
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

/// Plays all; with `other`, stops at the first block that differs from it
static bool
play(part* y, const sound* in, sound* out, const sound* other)
{
  for (uint32_t at = 0; at < in->n_frames; at += BLOCK) {
    const uint32_t n = in->n_frames - at < BLOCK ? in->n_frames - at : BLOCK;
    part_run(y, in->x, out->x, at, n);
    if (other &&
        (other->n_frames < at + n || !frames_alike(out, other, at, n))) {
      return false;
    }
  }
  return true;
}

/// Tries each length of silence on a copy of the process: how long the other
/// host had been running is unknown, and may be heard (a slow modulation is
/// somewhere else)
static bool
play_after_silence(part*        y,
                   const sound* in,
                   sound*       out,
                   const sound* other,
                   uint32_t     step)
{
  sound silence = sound_silent(step, 2);
  sound away    = sound_silent(step, 2);
  bool  found   = false;
  for (unsigned k = 0; k < MAX_STEPS && !found; ++k) {
    const pid_t child = fork();
    if (!child) {
      const bool alike = play(y, in, out, other);
      if (alike) {
        print_verdict(out, other, k * step);
        fflush(stdout);
      }
      _exit(alike ? 0 : 1);
    }
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child) {
      part_exit("cannot fork", "for a copy");
    }
    found = WIFEXITED(status) && !WEXITSTATUS(status);
    part_run(y, silence.x, away.x, 0, step);
  }
  sound_free(&silence);
  sound_free(&away);
  return found;
}

/// Plays all in a new instance
static void
play_fresh(part* y, const sound* in, sound* out)
{
  part_start(y);
  play(y, in, out, NULL);
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

typedef struct {
  bool     must_differ;
  uint32_t step;
} options;

/// `words` are URI, IN, OUT (both read already) and settings
static void
judge(LilvWorld* w, options o, char** words, int n_words, sound in, sound other)
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
  bool done = false;
  if (o.must_differ && is_default(w, &y, &in, &out)) {
    printf("the controls make no difference\n");
    done = true;
  } else if (o.step) {
    sound later = sound_silent(in.n_frames, y.n_out);
    part_start(&y);
    done = play_after_silence(&y, &in, &later, &other, o.step);
    part_stop(&y);
    sound_free(&later);
  }
  if (!done) {
    print_verdict(&out, &other, 0);
  }
  sound_free(&out);
}

/// An unreadable file makes an answer, not an error
static void
answer(LilvWorld* w, options o, char** words, int n_words)
{
  sound in    = {0};
  sound other = {0};
  if (!sound_read(words[1], &in)) {
    printf("no comparison: no sound in %s\n", words[1]);
  } else if (!sound_read(words[2], &other)) {
    printf(
      "no comparison: no sound at 48 kHz of one or two channels came out\n");
  } else {
    judge(w, o, words, n_words, in, other);
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
    options o     = {0};
    int     first = 0;
    if (first < n && !strcmp(words[first], "-m")) {
      o.must_differ = true;
      first += 1;
    }
    if (first + 1 < n && !strcmp(words[first], "-l")) {
      o.step = (uint32_t)strtoul(words[first + 1], NULL, 10);
      first += 2;
    }
    if (n - first < 3) {
      part_exit("stdin",
                "expected [-m] [-l STEP] URI IN OUT [symbol=value]...");
    }
    answer(w, o, words + first, n - first);
  }
  free(line);
  lilv_world_free(w);
  return 0;
}
