// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "user_path.h"

#include <stdio.h>
#include <stdlib.h>

bool
user_path(char path[USER_PATH], user_kind kind, const char* below)
{
  static const struct {
    const char* variable;
    const char* in_home;
  } places[] = {{"XDG_CONFIG_HOME", "/.config"},
                {"XDG_STATE_HOME", "/.local/state"}};

  const char* const folder = getenv(places[kind].variable);
  const char* const home   = getenv("HOME");
  int               n      = -1;
  if (folder && folder[0] == '/') {
    n = snprintf(path, USER_PATH, "%s%s", folder, below);
  } else if (home && home[0] == '/') {
    n = snprintf(path, USER_PATH, "%s%s%s", home, places[kind].in_home, below);
  }
  return n > 0 && n < USER_PATH;
}
