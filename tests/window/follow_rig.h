// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Windows of tracks that hear each other, without windows: each has the values
/// that its host would have, and a journal in a folder of the test's own

#ifndef TESTS_WINDOW_FOLLOW_RIG_H
#define TESTS_WINDOW_FOLLOW_RIG_H

#include "tests/support/check.h"

#include "plugins/window/follow/follow.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { RIG_TRACKS = 6 };

/// What a host keeps of a track, and the window while it is open
typedef struct {
  const plugin* plugin;
  bool          is_open;
  float         value[JOURNAL_PARAMS];
  int           held[JOURNAL_PARAMS];
  uint32_t      n_touches;
  follow        f;
} track;

static track  tracks[RIG_TRACKS];
static double rig_now_s;

static inline uint32_t
port_of(const track* t, const char* symbol)
{
  const int port = shell_port(t->plugin, symbol);
  assert_true(port >= 0);
  return (uint32_t)port;
}

static inline float*
value_of(track* t, const char* symbol)
{
  return &t->value[port_of(t, symbol)];
}

static inline float
on_value(void* handle, uint32_t param)
{
  return ((track*)handle)->value[param];
}

static inline void
on_write(void* handle, uint32_t param, float value)
{
  ((track*)handle)->value[param] = value;
}

static inline void
on_touch(void* handle, uint32_t param, bool is_held)
{
  track* const t = handle;
  t->held[param] += is_held ? 1 : -1;
  t->n_touches += is_held;
}

/// The display gives it to all windows, the sender's own too
static inline void
on_post(void* handle, const window_message* m)
{
  (void)handle;
  for (int i = 0; i < RIG_TRACKS; ++i) {
    if (tracks[i].is_open) {
      follow_hear(&tracks[i].f, m);
    }
  }
}

static inline void
let_pass(double seconds)
{
  rig_now_s += seconds;
  for (int i = 0; i < RIG_TRACKS; ++i) {
    if (tracks[i].is_open) {
      follow_tick(&tracks[i].f, rig_now_s);
    }
  }
}

/// A track with a plugin at its defaults
static inline track*
insert(int i, const char* stem)
{
  track* const t = &tracks[i];
  *t             = (track){0};
  for (uint32_t n = 0; !t->plugin; ++n) {
    t->plugin = strcmp(shell_plugin(n)->stem, stem) ? NULL : shell_plugin(n);
  }
  for (uint32_t p = 0; p < shell_param_count(t->plugin); ++p) {
    t->value[p] = shell_param(t->plugin, p)->def;
  }
  return t;
}

static inline void
open_window(track* t)
{
  const follow_host host = {t, on_value, on_write, on_touch, on_post};
  follow_init(&t->f, t->plugin, &host);
  t->is_open = true;
  follow_tick(&t->f, rig_now_s);
  for (uint32_t p = 0; p < shell_param_count(t->plugin); ++p) {
    follow_take(&t->f, p, t->value[p]);
  }
  let_pass(0.2);
}

static inline void
close_window(track* t)
{
  follow_end(&t->f);
  t->is_open = false;
}

/// One gesture of the hand, over a few steps
static inline void
drag(track* t, const char* symbol, float to)
{
  const uint32_t param = port_of(t, symbol);
  const float    from  = t->value[param];
  follow_lead(&t->f, param);
  for (int i = 1; i <= 3; ++i) {
    t->value[param] = i == 3 ? to : from + (to - from) * (float)i / 3.0F;
    follow_lead_to(&t->f, param);
  }
  follow_lead_end(&t->f);
}

/// A new group with the windows of the first `n` tracks
static inline void
group_up(int n)
{
  follow_join(&tracks[0].f, 1, 0, 0);
  for (int i = 1; i < n; ++i) {
    follow_ask(&tracks[i].f);
    assert_true(tracks[i].f.n_members > 0);
    const follow_member* const m = &tracks[i].f.members[0];
    follow_join(&tracks[i].f, m->group, m->song, m->place);
  }
}

/// A state folder of the test's own
static char rig_folder[] = "/tmp/dustcap-follow-XXXXXX";

static inline int
rig_setup(void** state)
{
  (void)state;
  for (size_t i = sizeof(rig_folder) - 7; i < sizeof(rig_folder) - 1; ++i) {
    rig_folder[i] = 'X';
  }
  memset(tracks, 0, sizeof(tracks));
  return mkdtemp(rig_folder) && !setenv("XDG_STATE_HOME", rig_folder, 1) ? 0
                                                                         : 1;
}

static inline int
rig_teardown(void** state)
{
  (void)state;
  char command[128];
  (void)snprintf(command, sizeof(command), "rm -r %s", rig_folder);
  return system(command) != 0;
}

/// Writes the path of the journal of a track's group
static inline void
journal_path(const track* t, char path[256])
{
  (void)snprintf(path, 256, "%s/dustcap/groups/%06x-%c-%s", rig_folder,
                 (unsigned)t->f.song, 'P' + (int)t->f.group - 1,
                 t->plugin->stem);
}

#endif // TESTS_WINDOW_FOLLOW_RIG_H
