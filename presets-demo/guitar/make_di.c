// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// make-di FOLDER: writes the dry takes of "Low Tide" into FOLDER, as mono WAV
/// files at 48 kHz and 24 bit: rhythm-left.wav, rhythm-right.wav, lead.wav.

#include "take.h"

#include <sndfile.h>

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>

static bool
write_take(const char* path, const int32_t* frames, uint32_t n)
{
  SF_INFO  info = {.samplerate = TAKE_RATE_HZ,
                   .channels   = 1,
                   .format     = SF_FORMAT_WAV | SF_FORMAT_PCM_24};
  SNDFILE* file = sf_open(path, SFM_WRITE, &info);
  if (!file) {
    (void)fprintf(stderr, "make-di: %s: %s\n", path, sf_strerror(NULL));
    return false;
  }
  const bool written = sf_writef_int(file, frames, n) == (sf_count_t)n;
  const bool closed  = sf_close(file) == 0;
  if (!written || !closed) {
    (void)fprintf(stderr, "make-di: %s: cannot be written in full\n", path);
    (void)remove(path);
  }
  return written && closed;
}

/// Writes a take in full or not at all: signals wait for the few milliseconds
static bool
write_undisturbed(const char* path, const int32_t* frames, uint32_t n)
{
  static const int signals[] = {SIGHUP, SIGINT, SIGTERM};
  sigset_t         held;
  sigset_t         before;
  (void)sigemptyset(&held);
  for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); ++i) {
    (void)sigaddset(&held, signals[i]);
  }
  (void)sigprocmask(SIG_BLOCK, &held, &before);
  const bool ok = write_take(path, frames, n);
  (void)sigprocmask(SIG_SETMASK, &before, NULL);
  return ok;
}

int
main(int argc, char** argv)
{
  if (argc != 2) {
    (void)fprintf(stderr, "usage: make-di FOLDER\n");
    return 1;
  }

  const uint32_t n      = take_frames();
  int32_t*       frames = (int32_t*)calloc(n, sizeof(*frames));
  bool           good   = frames != NULL;
  for (int k = 0; good && k < N_TAKES; ++k) {
    char      path[4096];
    const int length =
      snprintf(path, sizeof(path), "%s/%s.wav", argv[1], take_name((take)k));
    if (length < 0 || length >= (int)sizeof(path)) {
      (void)fprintf(stderr, "make-di: the name of the folder is too long\n");
      good = false;
      break;
    }
    good = take_render((take)k, frames);
    for (uint32_t i = 0; good && i < n; ++i) {
      frames[i] *= 256; // libsndfile takes the upper 24 bits of an int
    }
    good = good && write_undisturbed(path, frames, n);
  }
  if (!frames) {
    (void)fprintf(stderr, "make-di: out of memory\n");
  }
  free(frames);
  return good ? 0 : 1;
}
