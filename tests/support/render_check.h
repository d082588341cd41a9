// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Runs dustcap-render as a user does, and inspects what it leaves. RENDER is
/// the program; each test program works in a folder of its own.

#ifndef TESTS_SUPPORT_RENDER_CHECK_H
#define TESTS_SUPPORT_RENDER_CHECK_H

#include "check.h"

#include <sndfile.h>

#include <dirent.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define MAX_ARGS  24
#define FLOAT_WAV (SF_FORMAT_WAV | SF_FORMAT_FLOAT)
#define RATE_HZ   48000

#ifndef _GNU_SOURCE
extern char** environ;
#endif

static char render_folder[] = "/tmp/dustcap-render-XXXXXX";

static inline void
write_text(const char* name, const char* text)
{
  FILE* const f = fopen(name, "w");
  assert_non_null(f);
  assert_true(fputs(text, f) >= 0);
  assert_int_equal(fclose(f), 0);
}

/// Returns the text of a short file
static inline const char*
read_text(const char* name)
{
  static char text[8192];
  FILE* const f = fopen(name, "r");
  assert_non_null(f);
  text[fread(text, 1, sizeof(text) - 1, f)] = '\0';
  (void)fclose(f);
  return text;
}

/// Starts a program with words separated by spaces; its output goes to the
/// files "stdout" and `err_file`
static inline pid_t
program_start_to(const char* program, const char* line, const char* err_file)
{
  char  copy[2048];
  char* args[MAX_ARGS] = {(char*)program};
  int   n              = 1;
  (void)snprintf(copy, sizeof(copy), "%s", line);
  for (char* word = strtok(copy, " "); word; word = strtok(NULL, " ")) {
    assert_true(n < MAX_ARGS - 1);
    args[n++] = word;
  }

  posix_spawn_file_actions_t files;
  const int                  flags = O_WRONLY | O_CREAT | O_TRUNC;
  assert_int_equal(posix_spawn_file_actions_init(&files), 0);
  (void)posix_spawn_file_actions_addopen(&files, 1, "stdout", flags, 0644);
  (void)posix_spawn_file_actions_addopen(&files, 2, err_file, flags, 0644);
  pid_t id = 0;
  assert_int_equal(posix_spawn(&id, program, &files, NULL, args, environ), 0);
  (void)posix_spawn_file_actions_destroy(&files);
  return id;
}

static inline pid_t
render_start_to(const char* line, const char* err_file)
{
  return program_start_to(RENDER, line, err_file);
}

static inline pid_t
render_start(const char* line)
{
  return render_start_to(line, "stderr");
}

/// Runs it to its end; returns its status as waitpid() gives it
static inline int
render_status(const char* line)
{
  const pid_t id     = render_start(line);
  int         status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  return status;
}

/// Runs it on the fixture; it must succeed with nothing on stderr
static inline void
render_well(const char* line)
{
  char text[2048];
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const int status = render_status(text);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", line, status, read_text("stderr"));
  }
}

typedef struct {
  SF_INFO info;
  float*  x; ///< Interleaved
} sound;

static inline sound
sound_new(int format, int rate_hz, int n_channels, sf_count_t n)
{
  sound s = {.info = {.samplerate = rate_hz,
                      .channels   = n_channels,
                      .format     = format,
                      .frames     = n}};
  s.x     = calloc((size_t)(n * n_channels) + 1, sizeof(float));
  assert_non_null(s.x);
  return s;
}

static inline void
sound_free(sound* s)
{
  free(s->x);
  s->x = NULL;
}

static inline void
sound_write(const sound* s, const char* name)
{
  SF_INFO        info = s->info;
  SNDFILE* const f    = sf_open(name, SFM_WRITE, &info);
  assert_non_null(f);
  assert_int_equal(sf_writef_float(f, s->x, s->info.frames), s->info.frames);
  assert_int_equal(sf_close(f), 0);
}

static inline sound
sound_read(const char* name)
{
  sound          s = {.info = {0}};
  SNDFILE* const f = sf_open(name, SFM_READ, &s.info);
  assert_non_null(f);
  s =
    sound_new(s.info.format, s.info.samplerate, s.info.channels, s.info.frames);
  assert_int_equal(sf_readf_float(f, s.x, s.info.frames), s.info.frames);
  assert_int_equal(sf_close(f), 0);
  return s;
}

/// Returns noise of +-0.5 in float precision, different in each channel
static inline sound
sound_noise(int format, int rate_hz, int n_channels, sf_count_t n)
{
  sound    s    = sound_new(format, rate_hz, n_channels, n);
  uint32_t seed = 1;
  for (sf_count_t i = 0; i < n * n_channels; ++i) {
    s.x[i] = 0.5F * check_noise(&seed);
  }
  return s;
}

/// Returns the number of files in the folder, including hidden ones
static inline int
count_files(const char* folder)
{
  DIR* const d = opendir(folder);
  int        n = 0;
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    n += strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0;
  }
  (void)closedir(d);
  return n;
}

static inline int
enter_folder(void** state)
{
  (void)state;
  return mkdtemp(render_folder) ? chdir(render_folder) : -1;
}

/// Removes it with all that is in it: files, and folders of files
static inline int
leave_folder(void** state)
{
  (void)state;
  DIR* const d = opendir(render_folder);
  for (const struct dirent* e = NULL; d && (e = readdir(d));) {
    (void)remove(e->d_name);
  }
  return d && !closedir(d) ? rmdir(render_folder) : -1;
}

#endif // TESTS_SUPPORT_RENDER_CHECK_H
