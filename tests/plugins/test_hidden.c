// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The hidden controls: hosts save them and do not show them, and nothing but a
/// window knows them

#include "tests/support/bundle_play.h"

#include <lv2/atom/atom.h>
#include <lv2/port-props/port-props.h>
#include <lv2/state/state.h>
#include <lv2/urid/urid.h>

/// In the order of their ports, with their greatest values
static const struct {
  const char* symbol;
  float       most;
} rows[] = {
  {"window_mark", 16777215.0F}, {"group", 4.0F},
  {"group_mark", 16777215.0F},  {"group_move", 16777215.0F},
  {"group_mask", 16777215.0F},  {"row", 16777215.0F},
};

enum { N_ROWS = sizeof(rows) / sizeof(rows[0]), METERS = 32 };

static bool
has_property(const LilvPlugin* p, uint32_t port, const char* uri)
{
  LilvNode* const node = lilv_new_uri(the_bundle.world, uri);
  const bool      yes =
    lilv_port_has_property(p, lilv_plugin_get_port_by_index(p, port), node);
  lilv_node_free(node);
  return yes;
}

static void
check_declared(const plugin_form* form, void* data)
{
  const plugin* const     stem  = form->plugin;
  const LilvPlugin* const p     = bundle_plugin(&the_bundle, form->uri);
  const uint32_t          first = shell_shown_count(stem);
  (void)data;
  assert_int_equal(shell_param_count(stem) - first, N_ROWS);
  assert_string_equal(shell_param(stem, first - 1)->symbol, "trim_db");
  for (uint32_t i = 0; i < shell_param_count(stem); ++i) {
    assert_int_equal(shell_param(stem, i)->is_hidden, i >= first);
    assert_int_equal(has_property(p, i, LV2_PORT_PROPS__notOnGUI), i >= first);
  }
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    const param_info* const info = shell_param(stem, first + i);
    assert_string_equal(info->symbol, rows[i].symbol);
    assert_true(info->min == 0.0F && info->def == 0.0F &&
                info->max == rows[i].most);
    assert_true(has_property(p, first + i, LV2_CORE__integer));
  }
}

static void
test_hosts_are_asked_not_to_show_them(void** state)
{
  (void)state;
  for_each_form(check_declared, NULL);
}

/// Plays with the hidden controls at 0, or moving with every block; writes the
/// meters after each third of it
static void
play(const plugin_form* form, bool moves, audio* a, float meters[3][METERS])
{
  player         y     = player_new(&the_bundle, form, RATE_HZ);
  const uint32_t first = shell_shown_count(form->plugin);
  uint32_t       seed  = 3;
  assert_in_range(y.n_meters, 1, METERS);
  y.control[player_port(&y, "match_bypass")] = 1.0F;
  player_start(&y);
  for (uint32_t at = 0; at < N; at += 96) {
    y.control[0] = at < N * 3 / 4; // "enabled"
    for (uint32_t i = 0; moves && i < N_ROWS; ++i) {
      const float share    = 0.5F + 0.5F * check_noise(&seed);
      y.control[first + i] = roundf(share * rows[i].most);
    }
    player_run(&y, a->in, a->out, at, 96);
    memcpy(meters[at / (N / 3 + 1)], y.control + y.n_params,
           y.n_meters * sizeof(float));
  }
  player_free(&y);
}

static void
check_without_effect(const plugin_form* form, void* data)
{
  float still[3][METERS] = {{0}};
  float moved[3][METERS] = {{0}};
  (void)data;
  play(form, false, &one, still);
  play(form, true, &two, moved);
  assert_same(&two, &one, form);
  assert_memory_equal(moved, still, sizeof(still));
}

/// Neither the sound nor any meter: `change_db` and the matched bypass measure
/// on
static void
test_they_move_nothing(void** state)
{
  (void)state;
  audio_fill(&one);
  audio_fill(&two);
  for_each_form(check_without_effect, NULL);
}

// ---------------------------------------------------------------------------
// Saved

/// URIDs are places in this list
static char*    mapped[256];
static uint32_t n_mapped;

static LV2_URID
map(LV2_URID_Map_Handle handle, const char* uri)
{
  (void)handle;
  for (uint32_t i = 0; i < n_mapped; ++i) {
    if (!strcmp(mapped[i], uri)) {
      return i + 1;
    }
  }
  assert_in_range(n_mapped, 0, 255);
  mapped[n_mapped] = strdup(uri);
  return ++n_mapped;
}

static const char*
unmap(LV2_URID_Unmap_Handle handle, LV2_URID urid)
{
  (void)handle;
  return urid && urid <= n_mapped ? mapped[urid - 1] : NULL;
}

static LV2_URID_Map   urid_map   = {NULL, map};
static LV2_URID_Unmap urid_unmap = {NULL, unmap};

/// 24 bits that are not round in any base
static float
to_save(uint32_t row)
{
  return rows[row].most - (rows[row].most > 8.0F ? 2.0F : 1.0F) * (float)row;
}

static const void*
get_value(const char* symbol, void* data, uint32_t* size, uint32_t* type)
{
  static float value;
  (void)data;
  value = 0.0F;
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    value = strcmp(symbol, rows[i].symbol) ? value : to_save(i);
  }
  *size = sizeof(value);
  *type = map(NULL, LV2_ATOM__Float);
  return &value;
}

static void
set_value(const char* symbol,
          void*       data,
          const void* value,
          uint32_t    size,
          uint32_t    type)
{
  float* const loaded = data;
  assert_int_equal(type, map(NULL, LV2_ATOM__Float));
  assert_int_equal(size, sizeof(float));
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    if (!strcmp(symbol, rows[i].symbol)) {
      memcpy(&loaded[i], value, sizeof(float));
    }
  }
}

/// As a host that keeps its sessions by lilv: to text and back
static void
check_saved(const plugin_form* form, void* data)
{
  const char* const       uri = "urn:test:state";
  const LilvPlugin* const p   = bundle_plugin(&the_bundle, form->uri);
  LilvWorld* const        w   = the_bundle.world;
  player                  y   = player_new(&the_bundle, form, RATE_HZ);
  (void)data;
  player_start(&y);
  LilvState* const saved =
    lilv_state_new_from_instance(p, y.instance, &urid_map, NULL, NULL, NULL,
                                 NULL, get_value, NULL, LV2_STATE_IS_POD, NULL);
  char* const text =
    lilv_state_to_string(w, &urid_map, &urid_unmap, saved, uri, NULL);
  assert_non_null(text);
  LilvState* const read = lilv_state_new_from_string(w, &urid_map, text);
  assert_non_null(read);
  float loaded[N_ROWS];
  memset(loaded, 0xFF, sizeof(loaded));
  lilv_state_emit_port_values(read, set_value, loaded);
  for (uint32_t i = 0; i < N_ROWS; ++i) {
    if (loaded[i] != to_save(i)) {
      fail_msg("%s %s: %.1f came back as %.1f", form->uri, rows[i].symbol,
               (double)to_save(i), (double)loaded[i]);
    }
  }
  lilv_state_free(read);
  free(text);
  lilv_state_free(saved);
  player_free(&y);
}

static void
test_hosts_save_them_to_the_bit(void** state)
{
  (void)state;
  for_each_form(check_saved, NULL);
}

// ---------------------------------------------------------------------------
// The mask

/// Each control that can follow has a bit of its own
static void
test_the_mask_has_room(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    uint32_t seen = 0;
    for (uint32_t i = 0; i < shell_param_count(p); ++i) {
      const uint32_t bit = shell_mask_bit(p, i);
      const bool     follows =
        shell_param_is_stages(p, i) || i + 1 == shell_shown_count(p);
      assert_int_equal(bit != 0, follows);
      assert_int_equal(bit & (bit - 1U), 0);
      assert_int_equal(bit & seen, 0);
      seen |= bit;
    }
    assert_true(seen < 1U << 24U);
    assert_int_equal(shell_mask_bit(p, SHELL_FIRST_PARAMS), 2);
    assert_int_equal(shell_mask_bit(p, shell_shown_count(p) - 1), 1);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_hosts_are_asked_not_to_show_them),
    cmocka_unit_test(test_they_move_nothing),
    cmocka_unit_test(test_hosts_save_them_to_the_bit),
    cmocka_unit_test(test_the_mask_has_room),
  };
  const int failed = cmocka_run_group_tests_name("hidden", tests, load, unload);
  while (n_mapped) {
    free(mapped[--n_mapped]);
  }
  return failed;
}
