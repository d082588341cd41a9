// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "prefs.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { PATH_SIZE = 4096 };

/// -1 and 0: not chosen
typedef struct {
  int      paper;
  double   scale;
  bool     is_read;
  unsigned count;
} choices;

static pthread_mutex_t mutex  = PTHREAD_MUTEX_INITIALIZER;
static choices         chosen = {.paper = -1};

/// Reads "1.5" whatever the locale; 0 if it is no scale
static double
read_scale(const char* text)
{
  unsigned whole = 0;
  unsigned part  = 0;
  int      used  = 0;
  int      from  = 0;
  if (sscanf(text, "%1u%n", &whole, &used) != 1) {
    return 0;
  }
  double scale = whole;
  if ((text[used] == '.' || text[used] == ',') &&
      sscanf(text + used + 1, "%n%2u%n", &from, &part, &used) == 1) {
    scale += used - from == 2 ? part / 100.0 : part / 10.0;
  }
  return scale >= PREFS_LEAST_SCALE && scale <= PREFS_MOST_SCALE ? scale : 0;
}

static int
read_ground(const char* text)
{
  return !strncmp(text, "paper", 5) ? 1 : !strncmp(text, "night", 5) ? 0 : -1;
}

/// Writes the folder of settings; false if there is none
static bool
find_folder(char* path)
{
  const char* const config = getenv("XDG_CONFIG_HOME");
  const char* const home   = getenv("HOME");
  int               n      = -1;
  if (config && config[0] == '/') {
    n = snprintf(path, PATH_SIZE - 32, "%s", config);
  } else if (home && home[0] == '/') {
    n = snprintf(path, PATH_SIZE - 32, "%s/.config", home);
  }
  return n > 0 && n < PATH_SIZE - 32;
}

static void
read_once(void)
{
  char path[PATH_SIZE];
  char line[128];
  if (chosen.is_read) {
    return;
  }
  chosen.is_read = true;
  if (!find_folder(path)) {
    return;
  }
  strcat(path, "/dustcap/window");
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

/// Replaces the file as a whole.  Without a place for it the choice holds until
/// the host ends.
static void
write_choices(void)
{
  char path[PATH_SIZE];
  char new[PATH_SIZE + 8];
  if (!find_folder(path)) {
    return;
  }
  (void)mkdir(path, 0777);
  strcat(path, "/dustcap");
  (void)mkdir(path, 0777);
  strcat(path, "/window");
  (void)snprintf(new, sizeof(new), "%s.new", path);
  FILE* const file = fopen(new, "w");
  if (!file) {
    return;
  }
  if (chosen.paper >= 0) {
    (void)fprintf(file, "ground = %s\n", chosen.paper ? "paper" : "night");
  }
  if (chosen.scale > 0) {
    const int hundredths = (int)(100 * chosen.scale + 0.5);
    (void)fprintf(file, "scale = %d.%02d\n", hundredths / 100,
                  hundredths % 100);
  }
  const bool is_good = !ferror(file);
  if (fclose(file) || !is_good || rename(new, path)) {
    (void)remove(new);
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
