// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "frame_state.h"

#include "plugins/setup/setup_save.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WATCH_S 1.0 // So often files are looked at

enum { NAME_SHOWN = 16 };

/// Writes the name of the header's menu
static void
name_menu(frame* f)
{
  const loaded_state* const l = &f->loaded;
  if (!l->path) {
    (void)snprintf(f->menu_name, sizeof(f->menu_name), "setup");
    return;
  }
  size_t n = strlen(l->name);
  while (n > NAME_SHOWN ||
         (n && ((unsigned char)l->name[n] & 0xC0U) == 0x80U)) {
    --n; // Not within a character
  }
  (void)snprintf(f->menu_name, sizeof(f->menu_name), "%.*s%s%s", (int)n,
                 l->name, l->name[n] ? "\xE2\x80\xA6" : "",
                 l->differs ? " \xE2\x80\xA2" : "");
}

static void
show_name(frame* f)
{
  name_menu(f);
  layout_build(f);
  f->bands |= BAND_ALL;
}

void
loaded_clear(frame* f)
{
  loaded_state* const l = &f->loaded;
  free(l->path);
  setup_watch_end(&l->watch);
  *l = (loaded_state){.path = NULL};
  name_menu(f);
}

/// Keeps what is loaded for the next window of this instance
static void
remember(frame* f)
{
  const loaded_state* const l  = &f->loaded;
  past_setup* const         to = &f->kept->setup;
  const bool has_room          = l->path && strlen(l->path) < sizeof(to->path);
  (void)snprintf(to->path, sizeof(to->path), "%s", has_room ? l->path : "");
  memcpy(to->values, l->values, sizeof(to->values));
}

void
loaded_forget(frame* f)
{
  loaded_clear(f);
  remember(f);
}

/// Notes what was loaded or saved
static void
note(frame* f, const char* path, const setup_chain* chain, const float* values)
{
  loaded_state* const l    = &f->loaded;
  char* const         copy = strdup(path);
  loaded_clear(f);
  l->path = copy;
  setup_list_name(path, l->name);
  memcpy(l->values, values, frame_shown_count(f) * sizeof(float));
  setup_watch_begin(&l->watch, chain);
  l->next_s = f->now_s + WATCH_S;
  remember(f);
  kept_mark(f); // Loading may have moved nothing
  show_name(f);
}

void
loaded_take(frame* f, const setup_entry* e, uint32_t part)
{
  const setup_stage* const s = setup_chain_stage(&e->chain, part);
  if (!s) {
    return;
  }
  const uint32_t n = setup_take(f, s->values);
  note(f, e->path, &e->chain, s->values);
  if (n) {
    frame_say(f, "%s loaded: %u control%s moved.", f->loaded.name, n,
              n > 1 ? "s" : "");
  } else {
    frame_say(f, "%s loaded: all controls stand so already.", f->loaded.name);
  }
}

// ---------------------------------------------------------------------------
// Saving

/// Whether a setup lies in the user's folder
static bool
is_own(const frame* f, const char* folder)
{
  const size_t n = strlen(folder);
  return f->loaded.path && !strncmp(f->loaded.path, folder, n) &&
         f->loaded.path[n] == '/';
}

bool
loaded_own_path(const frame* f, char* path, size_t room)
{
  char              folder[USER_PATH];
  const bool        is_typed = f->save_typed[0];
  const char* const name     = is_typed         ? f->save_typed
                               : f->loaded.path ? f->loaded.name
                                                : f->form.plugin->stem;
  if (!user_path(folder, USER_SETTINGS, "/dustcap/setups")) {
    return false;
  }
  const int n = !is_typed && is_own(f, folder)
                  ? snprintf(path, room, "%s", f->loaded.path)
                  : snprintf(path, room, "%s/%s.ini", folder, name);
  return n > 0 && (size_t)n < room;
}

void
loaded_save(frame* f)
{
  char               path[USER_PATH];
  float              values[FRAME_PARAMS];
  failure            fault = {"no folder for settings (HOME)"};
  setup_chain        chain = {.stages = NULL};
  setup_table* const t     = setup_table_new();
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    values[i] = memory_value(f, i);
  }
  const bool ok = t && loaded_own_path(f, path, sizeof(path)) &&
                  prefs_make_folder("/dustcap/setups") &&
                  setup_save(path, setup_table_parts(t), setup_part_of(f, t),
                             values, &fault) &&
                  setup_chain_load(&chain, path, setup_table_parts(t), &fault);
  if (ok) {
    note(f, path, &chain, values);
    frame_say(f, "Saved in %s", path);
  } else {
    frame_say(f, "%s", fault.text);
  }
  setup_chain_clear(&chain);
  setup_table_free(t);
}

// ---------------------------------------------------------------------------
// Changes

/// The controls depart from what was loaded, or do so no more
static void
check_controls(frame* f)
{
  loaded_state* const l       = &f->loaded;
  bool                differs = false;
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    differs =
      differs || (memory_holds(f, i) && memory_value(f, i) != l->values[i]);
  }
  if (differs != l->differs && !f->blind.is_on && !f->drag.is_down) {
    l->differs = differs;
    show_name(f);
  }
}

/// Reads the setup anew after a change
static void
read_again(frame* f, const char* changed)
{
  loaded_state* const l     = &f->loaded;
  setup_table* const  t     = setup_table_new();
  setup_chain         chain = {.stages = NULL};
  failure             fault = {"out of memory"};
  char                name[SETUP_NAME];
  setup_list_name(changed, name);
  const setup_stage* s = NULL;
  setup_watch_again(&l->watch);
  if (t && setup_chain_load(&chain, l->path, setup_table_parts(t), &fault)) {
    s = setup_chain_stage(&chain, setup_part_of(f, t));
    setup_watch_begin(&l->watch, &chain);
  } else {
    frame_say(f, "%s", fault.text);
  }
  if (s) {
    l->is_offered = false;
    for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
      l->offered[i] = s->values[i];
      l->is_offered =
        l->is_offered || (memory_holds(f, i) && l->offered[i] != l->values[i]);
    }
    (void)snprintf(l->changed, sizeof(l->changed), "%s", name);
    help_ask(f);
    layout_build(f);
    f->bands |= BAND_ALL;
  }
  setup_chain_clear(&chain);
  setup_table_free(t);
}

/// A file that changed while no window was open is offered
void
loaded_recall(frame* f)
{
  loaded_state* const     l    = &f->loaded;
  const past_setup* const from = &f->kept->setup;
  if (l->path || !from->path[0] || !(l->path = strdup(from->path))) {
    return;
  }
  setup_list_name(l->path, l->name);
  memcpy(l->values, from->values, sizeof(l->values));
  l->next_s = f->now_s + WATCH_S;
  read_again(f, l->path);
  show_name(f);
}

void
loaded_tick(frame* f)
{
  loaded_state* const l = &f->loaded;
  if (!l->path) {
    return;
  }
  check_controls(f);
  // Its words would move the items of a menu
  if (f->now_s < l->next_s || f->drag.is_down || f->is_menu_open) {
    return;
  }
  l->next_s                 = f->now_s + WATCH_S;
  const char* const changed = setup_watch_changed(&l->watch);
  if (changed) {
    read_again(f, changed);
  }
}

/// Moves the controls that the file has moved: others keep their differences
void
loaded_accept(frame* f)
{
  loaded_state* const l = &f->loaded;
  float               values[FRAME_PARAMS];
  for (uint32_t i = 0; i < frame_shown_count(f); ++i) {
    values[i] =
      l->offered[i] != l->values[i] ? l->offered[i] : memory_value(f, i);
  }
  const uint32_t n = setup_take(f, values);
  loaded_keep(f);
  frame_say(f, "%s taken over: %u control%s moved.", l->changed, n,
            n == 1 ? "" : "s");
}

void
loaded_keep(frame* f)
{
  loaded_state* const l = &f->loaded;
  l->is_offered         = false;
  memcpy(l->values, l->offered, sizeof(l->values));
  remember(f);
  show_name(f);
}
