// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Where a user's own files lie, by the XDG base directory specification

#ifndef PLUGINS_TEXT_USER_PATH_H
#define PLUGINS_TEXT_USER_PATH_H

#include <stdbool.h>

#define USER_PATH 4096

typedef enum {
  USER_SETTINGS, ///< $XDG_CONFIG_HOME, or ~/.config
  USER_STATE,    ///< $XDG_STATE_HOME, or ~/.local/state
} user_kind;

/// Writes the path of what is below that folder ("/dustcap/setups", "" for
/// itself); false if there is none, or if it is too long
bool
user_path(char path[USER_PATH], user_kind kind, const char* below);

#endif // PLUGINS_TEXT_USER_PATH_H
