// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The name under which the menu of setups saves: the loaded one's, or what is
/// typed while the menu is open

#include "frame_loaded.h"

#include <ctype.h>
#include <string.h>
#include <unistd.h>

/// Whether a character may stand in the name of a file that we make.  It begins
/// with a letter or a digit: nothing is hidden, or looks like an option.
static bool
is_of_a_name(char text, size_t at)
{
  return isalnum((unsigned char)text) || (at && text && strchr(" -_.", text));
}

/// Shows the name, with the keys on its line
static void
show(frame* f)
{
  f->save_is_sure = false;
  layout_build(f);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    if (f->items[i].kind == ITEM_SAVE) {
      focus_set(f, (int)i);
    }
  }
  f->bands |= BAND_ALL;
}

bool
save_name_key(frame* f, const window_event* e)
{
  const size_t n = strlen(f->save_typed);
  if (e->key == KEY_BACKSPACE && n) {
    f->save_typed[n - 1] = '\0';
    show(f);
    return true;
  }
  if (e->key != KEY_TEXT || e->ctrl || !is_of_a_name(e->text, n)) {
    return e->key == KEY_TEXT && !e->ctrl && n; // In a name, not the host's
  }
  if (n + 1 < sizeof(f->save_typed)) {
    f->save_typed[n]     = e->text;
    f->save_typed[n + 1] = '\0';
  }
  show(f);
  return true;
}

bool
save_name_asks(frame* f)
{
  char path[USER_PATH];
  if (!f->save_typed[0] || f->save_is_sure ||
      !loaded_own_path(f, path, sizeof(path)) || access(path, F_OK) != 0) {
    return false;
  }
  f->save_is_sure = true;
  f->bands |= BAND_HELP;
  return true;
}
