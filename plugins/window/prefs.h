// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Ground and scale of all windows.  What counts, in this order: the variables
/// DUSTCAP_GROUND (night, paper) and DUSTCAP_SCALE (1 to 3) of the environment;
/// what was chosen in a window, which is remembered in
/// $XDG_CONFIG_HOME/dustcap/window (or ~/.config); what the host says; night,
/// and 1.

#ifndef PLUGINS_WINDOW_PREFS_H
#define PLUGINS_WINDOW_PREFS_H

#include "plugins/text/user_path.h"

#include <stdbool.h>

#define PREFS_LEAST_SCALE 1.0
#define PREFS_MOST_SCALE  3.0

/// What a host says; scale 0: nothing
typedef struct {
  bool   is_bright;
  double scale;
} prefs_host;

/// Makes a folder of settings, "/dustcap" or one in it; false if that cannot be
bool
prefs_make_folder(const char* below);

bool
prefs_is_paper(const prefs_host* host);

double
prefs_scale(const prefs_host* host);

/// Counts the choices made in this process, so that a window sees another's
unsigned
prefs_count(void);

/// Chooses, for all windows of this process and those to come
void
prefs_choose_paper(bool is_paper);

void
prefs_choose_scale(double scale);

#endif // PLUGINS_WINDOW_PREFS_H
