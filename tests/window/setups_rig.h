// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sheets with setups of the user's own, in a folder for the test, and the menu
/// of setups

#ifndef TESTS_WINDOW_SETUPS_RIG_H
#define TESTS_WINDOW_SETUPS_RIG_H

#include "window_rig.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

static char setups_folder[] = "/tmp/setup-menu-XXXXXX";

static inline int
setups_enter(void** state)
{
  (void)state;
  rig_setups = SETUP_DIR;
  return mkdtemp(setups_folder) && !setenv("XDG_CONFIG_HOME", setups_folder, 1)
           ? 0
           : 1;
}

static inline int
setups_leave(void** state)
{
  (void)state;
  return system("rm -rf \"$XDG_CONFIG_HOME\"");
}

static inline const char*
setups_path(const char* name)
{
  static char path[256];
  (void)snprintf(path, sizeof(path), "%s/dustcap/setups/%s.ini", setups_folder,
                 name);
  return path;
}

static inline void
setups_write(const char* name, const char* text)
{
  char path[256];
  (void)snprintf(path, sizeof(path), "%s/dustcap", setups_folder);
  (void)mkdir(path, 0777);
  (void)snprintf(path, sizeof(path), "%s/dustcap/setups", setups_folder);
  (void)mkdir(path, 0777);
  FILE* const file = fopen(setups_path(name), "w");
  assert_non_null(file);
  assert_true(fputs(text, file) >= 0);
  assert_int_equal(fclose(file), 0);
}

static inline const char*
setups_read(const char* name)
{
  static char text[4096];
  FILE* const file = fopen(setups_path(name), "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  assert_int_equal(fclose(file), 0);
  return text;
}

static inline void
setups_press(rig* r, const char* word)
{
  window_event e = {.kind = EVENT_PRESS, .time_s = r->now_s};
  rig_pass(r, 1);
  if (!frame_word_of(r->f, word, &e.x, &e.y)) {
    fail_msg("no '%s'", word);
  }
  (void)frame_event(r->f, &e);
  e.kind = EVENT_RELEASE;
  (void)frame_event(r->f, &e);
}

static inline void
setups_load(rig* r, const char* menu, const char* name)
{
  setups_press(r, menu);
  setups_press(r, name);
}

static inline void
setups_open_tube(rig* r)
{
  (void)!system("rm -rf \"$XDG_CONFIG_HOME\"/dustcap");
  rig_open(r, "tube-stage");
}

static inline void
setups_host_moves(rig* r, const char* symbol, float value)
{
  rig_pass(r, 1);
  frame_take_param(r->f, rig_param(r, symbol), value);
  rig_pass(r, 1);
}

#endif // TESTS_WINDOW_SETUPS_RIG_H
