// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A session that a host saves while a row plays untreated: its windows play it
/// treated again.  Written to text and read again by lilv, as hosts do.

#include "row_rig.h"

#include "presets-demo/render/host/catalogue.h"
#include "presets-demo/render/host/host_features.h"

#include <lilv/lilv.h>
#include <lv2/atom/atom.h>
#include <lv2/state/state.h>

#define ROW_HERE (4711U << 3U | 2U)

static catalogue     bundle;
static host_features features;

static int
open_host(void** state)
{
  failure f = {""};
  (void)state;
  host_features_init(&features, 64);
  return catalogue_open(&bundle, BUNDLE_DIR, &f) ? 0 : -1;
}

static int
close_host(void** state)
{
  (void)state;
  catalogue_close(&bundle);
  host_features_clear(&features);
  return 0;
}

static LV2_URID
number_type(void)
{
  return features.map.map(features.map.handle, LV2_ATOM__Float);
}

static const void*
get_value(const char* symbol, void* data, uint32_t* size, uint32_t* type)
{
  const seat* const s = data;
  *size               = sizeof(float);
  *type               = number_type();
  return &s->value[seat_port(s, symbol)];
}

static void
set_value(const char* symbol,
          void*       data,
          const void* value,
          uint32_t    size,
          uint32_t    type)
{
  seat* const s = data;
  assert_int_equal(type, number_type());
  assert_int_equal(size, sizeof(float));
  memcpy(&s->value[seat_port(s, symbol)], value, sizeof(float));
}

/// Returns the session's text of a plugin; free() it
static char*
save(seat* s)
{
  const LilvPlugin* const p =
    catalogue_part(&bundle, s->form.plugin->stem)->forms[0].plugin;
  LilvInstance* const instance =
    lilv_plugin_instantiate(p, 48000, host_features_list(&features));
  assert_non_null(instance);
  LilvState* const state =
    lilv_state_new_from_instance(p, instance, &features.map, NULL, NULL, NULL,
                                 NULL, get_value, s, LV2_STATE_IS_POD, NULL);
  char* const text =
    lilv_state_to_string(bundle.world, &features.map, &features.unmap, state,
                         "urn:test:saved", NULL);
  assert_non_null(text);
  lilv_state_free(state);
  lilv_instance_free(instance);
  return text;
}

/// A plugin as the session has it
static void
restore(seat* s, const char* stem, const char* text)
{
  LilvState* const state =
    lilv_state_new_from_string(bundle.world, &features.map, text);
  assert_non_null(state);
  seat_insert(s, stem, 0);
  lilv_state_emit_port_values(state, set_value, s);
  lilv_state_free(state);
}

static float
value_of(const seat* s, const char* symbol)
{
  return s->value[seat_port(s, symbol)];
}

/// The windows of a track that plays, brought to the untreated sound; stage 4
/// is off by hand
static void
to_untreated(void)
{
  row_setup();
  for (int i = 0; i < ROW_STAGES; ++i) {
    seat_insert(&seats[i], row_stems[i], ROW_HERE);
    seats[i].value[0] = i == 4 ? 0 : 1;
    seat_open(&seats[i]);
    const uint32_t n = shell_param_count(seats[i].form.plugin);
    frame_take_meter(seats[i].f, seat_port(&seats[i], "in_db") - n, -18);
    frame_take_meter(seats[i].f, seat_port(&seats[i], "match_db") - n, 1.5F);
  }
  row_pass(0.5);
  seat_key(&seats[2]);
  row_pass(6);
  assert_string_equal(frame_said(seats[2].f), "7 of 7 windows: untreated");
}

static void
it_is_treated_again(void** state)
{
  char* saved[ROW_STAGES];
  (void)state;
  to_untreated();
  for (int i = 0; i < ROW_STAGES; ++i) {
    saved[i] = save(&seats[i]);
  }
  row_close();
  row_setup();
  for (int i = 0; i < ROW_STAGES; ++i) {
    restore(&seats[i], row_stems[i], saved[i]);
    free(saved[i]);
    assert_float_equal(value_of(&seats[i], "enabled"), 0, 0);
    seat_open(&seats[i]);
  }
  row_pass(0.2);
  for (int i = 0; i < ROW_STAGES; ++i) {
    const bool was_off = i == 4;
    assert_float_equal(value_of(&seats[i], "enabled"), was_off ? 0 : 1, 0);
    assert_float_equal(value_of(&seats[i], "row"), ROW_HERE, 0);
    double x = 0;
    double y = 0;
    assert_true(frame_word_of(seats[i].f, "row", &x, &y)); // Still in it
    assert_int_equal(strstr(frame_said(seats[i].f), "it is on again") == NULL,
                     was_off);
  }
  // From now on its bypass is the hand's alone
  frame_take_param(seats[0].f, 0, 0);
  row_pass(2);
  assert_float_equal(frame_param(seats[0].f, 0), 0, 0);
  row_close();
}

/// Saved when the comparison has ended, it comes back as it was
static void
a_bypass_by_hand_stays(void** state)
{
  (void)state;
  to_untreated();
  seat_key(&seats[2]);
  row_pass(0.2);
  char* const on  = save(&seats[2]);
  char* const off = save(&seats[4]);
  row_close();
  row_setup();
  restore(&seats[0], row_stems[2], on);
  restore(&seats[1], row_stems[4], off);
  free(on);
  free(off);
  for (int i = 0; i < 2; ++i) {
    seat_open(&seats[i]);
  }
  row_pass(0.5);
  for (int i = 0; i < 2; ++i) {
    assert_float_equal(value_of(&seats[i], "enabled"), i == 0 ? 1 : 0, 0);
    assert_string_equal(seats[i].log, "");
    assert_string_equal(frame_said(seats[i].f), "");
  }
  row_close();
}

/// A copied track does not wait for the comparison of the other one
static void
a_copied_track_is_treated(void** state)
{
  (void)state;
  to_untreated();
  char* const copy = save(&seats[2]);
  restore(&seats[9], row_stems[2], copy);
  free(copy);
  seat_open(&seats[9]);
  row_pass(0.2);
  assert_float_equal(value_of(&seats[9], "enabled"), 1, 0);
  assert_float_equal(value_of(&seats[2], "enabled"), 0, 0);
  row_close();
}

/// Nobody may remember the others: they go back with the window that led
static void
the_window_that_led_takes_all_back(void** state)
{
  (void)state;
  to_untreated();
  seat_close(&seats[2]);
  row_pass(0.2);
  for (int i = 0; i < ROW_STAGES; ++i) {
    assert_float_equal(value_of(&seats[i], "enabled"), i == 4 ? 0 : 1, 0);
    assert_float_equal(value_of(&seats[i], "row"), ROW_HERE, 0);
  }
  row_close();
}

/// The host takes one out of the row
static void
leaving_the_row_takes_it_back(void** state)
{
  (void)state;
  to_untreated();
  frame_take_param(seats[5].f, seat_port(&seats[5], "row"), 0);
  row_pass(0.4);
  assert_float_equal(value_of(&seats[5], "enabled"), 1, 0);
  assert_float_equal(value_of(&seats[5], "row"), 0, 0);
  assert_float_equal(value_of(&seats[6], "enabled"), 0, 0);
  row_close();
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(it_is_treated_again),
    cmocka_unit_test(a_bypass_by_hand_stays),
    cmocka_unit_test(a_copied_track_is_treated),
    cmocka_unit_test(the_window_that_led_takes_all_back),
    cmocka_unit_test(leaving_the_row_takes_it_back),
  };
  return cmocka_run_group_tests_name("track-row-saved", tests, open_host,
                                     close_host);
}
