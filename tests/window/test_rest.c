// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A sheet on which nothing happens looks around less often, and is awake at
/// once when something does.  What shows it: the ground that another window
/// chose.

#include "window_rig.h"

#include "plugins/window/follow/message.h"
#include "plugins/window/prefs.h"

#include <stdlib.h>

enum { CALL = 3 }; ///< At rest it looks at every third call of its host

static uint32_t
ground_of(rig* r)
{
  const platform_pixels p      = rig_paint(r);
  uint32_t              colour = 0;
  memcpy(&colour, p.data, sizeof(colour));
  return colour;
}

/// Another window chooses the other ground; returns how many calls of the host
/// it takes until this one has it
static int
calls_until_seen(rig* r)
{
  static bool    is_paper;
  const uint32_t before = ground_of(r);
  is_paper              = !is_paper;
  prefs_choose_paper(is_paper);
  for (int n = 1; n < 100; ++n) {
    rig_pass(r, 0.01); // One call
    if (ground_of(r) != before) {
      return n;
    }
  }
  return 0;
}

/// All but the ground is as it was for a time
static void
fall_asleep(rig* r)
{
  rig_settle(r);
  rig_pass(r, 6);
  (void)calls_until_seen(r); // It has just looked
  assert_int_equal(calls_until_seen(r), CALL);
}

static void
by_event(rig* r)
{
  rig_event(r, EVENT_MOVE, 5, 5);
}

static void
by_host(rig* r)
{
  frame_take_param(r->f, rig_param(r, "threshold_db"), -31);
}

static void
by_meter(rig* r)
{
  const uint32_t meter =
    rig_param(r, "out_db") - shell_param_count(r->form.plugin);
  frame_take_meter(r->f, meter, -80);
}

static void
by_message(rig* r)
{
  const message        m = {.kind = MESSAGE_ROW_ASK, .sender = 1};
  const window_message w = message_pack(&m);
  frame_take_message(r->f, &w);
}

/// What the window itself writes, for whatever reason
static void
by_paste(rig* r)
{
  static const char text[] = "[input-compressor]\nthreshold_db = -27\n";
  frame_paste(r->f, text, sizeof(text) - 1, "");
  assert_near((double)rig_value(r, "threshold_db"), -27, 1e-6);
}

static void
it_wakes_by_whatever_happens(void** state)
{
  static void (*const wakers[])(rig*) = {by_event, by_host, by_meter,
                                         by_message, by_paste};
  (void)state;
  for (size_t i = 0; i < sizeof(wakers) / sizeof(wakers[0]); ++i) {
    rig r;
    rig_open(&r, "input-compressor");
    fall_asleep(&r);
    wakers[i](&r);
    for (int n = 0; n < CALL; ++n) {
      assert_int_equal(calls_until_seen(&r), 1);
    }
    fall_asleep(&r);
    rig_close(&r);
  }
}

static void
it_does_not_rest_while_it_plays(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "input-compressor");
  const uint32_t n = shell_param_count(r.form.plugin);
  frame_take_meter(r.f, rig_param(&r, "in_db") - n, -18);
  rig_settle(&r);
  rig_pass(&r, 6);
  for (int k = 0; k < CALL; ++k) {
    assert_int_equal(calls_until_seen(&r), 1);
  }
  rig_close(&r);
}

/// The window knows the places of the first controls without looking them up
static void
all_plugins_begin_with_the_same_controls(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t i = 0; (p = shell_plugin(i)); ++i) {
    assert_int_equal(shell_port(p, "enabled"), 0);
    assert_int_equal(shell_port(p, "match_bypass"), 1);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(it_wakes_by_whatever_happens),
    cmocka_unit_test(it_does_not_rest_while_it_plays),
    cmocka_unit_test(all_plugins_begin_with_the_same_controls),
  };
  // Nothing is to be written: the choice holds until the test ends
  if (setenv("XDG_CONFIG_HOME", "/dev/null", 1)) {
    return 1;
  }
  return cmocka_run_group_tests_name("rest", tests, NULL, NULL);
}
