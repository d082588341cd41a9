// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "prefs.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// -1 and 0: not chosen
typedef struct {
  int      paper;
  double   scale;
  bool     is_read;
  unsigned count;
} choices;

static pthread_mutex_t mutex  = PTHREAD_MUTEX_INITIALIZER;
static choices         chosen = {.paper = -1};

/// Returns the digit at a place, or -1
static int
digit(char c)
{
  return c >= '0' && c <= '9' ? c - '0' : -1;
}

/// Reads "1.5" whatever the locale; 0 if it is no scale
static double
read_scale(const char* text)
{
  double scale = digit(text[0]);
  if (scale < 0) {
    return 0;
  }
  if (text[1] == '.' || text[1] == ',') {
    const int tenths     = digit(text[2]);
    const int hundredths = tenths < 0 ? -1 : digit(text[3]);
    scale += tenths < 0 ? -1 : tenths / 10.0;
    scale += hundredths < 0 ? 0 : hundredths / 100.0;
  } else if (digit(text[1]) >= 0) {
    return 0;
  }
  return scale >= PREFS_LEAST_SCALE && scale <= PREFS_MOST_SCALE ? scale : 0;
}

static int
read_ground(const char* text)
{
  return !strncmp(text, "paper", 5) ? 1 : !strncmp(text, "night", 5) ? 0 : -1;
}

bool
prefs_make_folder(const char* below)
{
  const char* const parents[] = {"", "/dustcap", below};
  char              path[USER_PATH];
  bool              ok = false;
  for (size_t i = 0; i < 3; ++i) { // They may be there
    ok = user_path(path, USER_SETTINGS, parents[i]) &&
         (!mkdir(path, 0777) || errno == EEXIST);
  }
  return ok;
}

static void
read_once(void)
{
  char path[USER_PATH];
  char line[128];
  if (chosen.is_read) {
    return;
  }
  chosen.is_read = true;
  if (!user_path(path, USER_SETTINGS, "/dustcap/window")) {
    return;
  }
  FILE* const file = fopen(path, "r");
  while (file && fgets(line, sizeof(line), file)) {
    if (!strncmp(line, "ground = ", 9)) {
      chosen.paper = read_ground(line + 9);
    } else if (!strncmp(line, "scale = ", 8)) {
      chosen.scale = read_scale(line + 8);
    }
  }
  if (file) {
    (void)fclose(file);
  }
}

static bool
write_lines(FILE* file)
{
  if (chosen.paper >= 0) {
    (void)fprintf(file, "ground = %s\n", chosen.paper ? "paper" : "night");
  }
  if (chosen.scale > 0) {
    const int hundredths = (int)(100 * chosen.scale + 0.5);
    (void)fprintf(file, "scale = %d.%02d\n", hundredths / 100,
                  hundredths % 100);
  }
  const bool is_good = !ferror(file);
  return !fclose(file) && is_good;
}

/// Replaces the file as a whole.  Without a place for it the choice holds until
/// the host ends.
static void
write_choices(void)
{
  char path[USER_PATH];
  char whole[USER_PATH];
  if (!user_path(path, USER_SETTINGS, "/dustcap/window.new") ||
      !user_path(whole, USER_SETTINGS, "/dustcap/window") ||
      !prefs_make_folder("/dustcap")) {
    return;
  }
  FILE* const file = fopen(path, "w");
  if (file && (!write_lines(file) || rename(path, whole) != 0)) {
    (void)remove(path);
  }
}

static choices
read_choices(void)
{
  (void)pthread_mutex_lock(&mutex);
  read_once();
  const choices now = chosen;
  (void)pthread_mutex_unlock(&mutex);
  return now;
}

bool
prefs_is_paper(const prefs_host* host)
{
  const char* const forced = getenv("DUSTCAP_GROUND");
  const int         ground = forced ? read_ground(forced) : -1;
  const choices     now    = read_choices();
  return ground >= 0      ? ground == 1
         : now.paper >= 0 ? now.paper == 1
                          : host->is_bright;
}

double
prefs_scale(const prefs_host* host)
{
  const char* const forced = getenv("DUSTCAP_SCALE");
  const double      scale  = forced ? read_scale(forced) : 0;
  const choices     now    = read_choices();
  const double      wanted = scale > 0       ? scale
                             : now.scale > 0 ? now.scale
                                             : host->scale;
  return wanted < PREFS_LEAST_SCALE  ? PREFS_LEAST_SCALE
         : wanted > PREFS_MOST_SCALE ? PREFS_MOST_SCALE
                                     : wanted;
}

unsigned
prefs_count(void)
{
  return read_choices().count;
}

void
prefs_choose_paper(bool is_paper)
{
  (void)pthread_mutex_lock(&mutex);
  read_once();
  chosen.paper = is_paper;
  ++chosen.count;
  write_choices();
  (void)pthread_mutex_unlock(&mutex);
}

void
prefs_choose_scale(double scale)
{
  (void)pthread_mutex_lock(&mutex);
  read_once();
  chosen.scale = scale;
  ++chosen.count;
  write_choices();
  (void)pthread_mutex_unlock(&mutex);
}
