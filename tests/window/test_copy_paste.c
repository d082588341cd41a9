// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A stage travels as the text of a setup: what is copied and pasted has the
/// same bits, a whole setup file can be pasted as the renderer reads it, in one
/// gesture that can be undone, and what cannot be used is said

#include "window_rig.h"

#include "plugins/setup/setup_chain.h"
#include "plugins/window/setup_table.h"

#include <dirent.h>
#include <stdlib.h>

enum { ROUNDS = 40, FILE_TEXT = 32768 };

static uint32_t seed = 7;

static uint32_t
chance(uint32_t n)
{
  seed = seed * 1664525U + 1013904223U; // Numerical Recipes, from memory
  return (seed >> 8U) % n;
}

static bool
is_of_track(const rig* r, uint32_t param)
{
  const char* const symbol = shell_param(r->form.plugin, param)->symbol;
  return !strcmp(symbol, "enabled") || !strcmp(symbol, "match_bypass") ||
         (!strcmp(r->form.plugin->stem, "di-cleanup") &&
          !strcmp(symbol, "gain_db"));
}

/// Anything that a host's automation might leave there
static void
host_moves_all(rig* r)
{
  for (uint32_t i = 0; i < shell_shown_count(r->form.plugin); ++i) {
    const param_info* const p = shell_param(r->form.plugin, i);
    const float             x = (float)chance(1U << 24U) / (1U << 24U);
    frame_take_param(r->f, i,
                     p->kind == PARAM_NUM
                       ? p->min + x * (p->max - p->min)
                       : (float)chance((uint32_t)p->max + 1));
  }
}

static void
key(rig* r, char text)
{
  const window_event e = {
    .kind = EVENT_KEY, .key = KEY_TEXT, .text = text, .ctrl = true};
  assert_true(frame_event(r->f, &e));
}

static void
paste(rig* r, const char* text)
{
  rig_pass(r, 1); // Echoes are over
  r->log[0] = '\0';
  frame_paste(r->f, text, text ? strlen(text) : 0, "Why.");
}

static void
a_copy_pasted_has_the_same_bits(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    rig r;
    rig_open(&r, p->stem);
    for (int round = 0; round < ROUNDS; ++round) {
      float          values[PLAYING_PORTS];
      float          before[PLAYING_PORTS];
      const uint32_t n_params = shell_shown_count(p);
      host_moves_all(&r);
      key(&r, 'c');
      for (uint32_t i = 0; i < n_params; ++i) {
        values[i] = frame_param(r.f, i);
      }
      host_moves_all(&r);
      for (uint32_t i = 0; i < n_params; ++i) {
        before[i] = frame_param(r.f, i);
      }
      paste(&r, r.copied);
      for (uint32_t i = 0; i < n_params; ++i) {
        const float now  = frame_param(r.f, i);
        const float want = is_of_track(&r, i) ? before[i] : values[i];
        if (memcmp(&now, &want, sizeof(now)) != 0) {
          fail_msg("%s %s: %.9g, not %.9g", p->stem, shell_param(p, i)->symbol,
                   (double)now, (double)want);
        }
      }
    }
    rig_close(&r);
  }
}

static void
values_of_the_track_are_not_copied(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "di-cleanup");
  key(&r, 'c');
  assert_ptr_equal(strstr(r.copied, "[di-cleanup]\n"), r.copied);
  assert_null(strstr(r.copied, "\nenabled"));
  assert_null(strstr(r.copied, "\nmatch_bypass"));
  assert_null(strstr(r.copied, "\ngain_db"));
  assert_non_null(strstr(r.copied, "\nbody_db = "));
  assert_non_null(strstr(r.copied, "\ntrim_db = 0\n"));
  assert_non_null(strstr(frame_said(r.f), "[di-cleanup]"));
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// Whole files

static char*
read_file(const char* path)
{
  char* const text = calloc(FILE_TEXT, 1);
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  assert_non_null(text);
  assert_in_range(fread(text, 1, FILE_TEXT - 1, file), 1, FILE_TEXT - 2);
  (void)fclose(file);
  return text;
}

/// Pastes a shipped setup into the windows of all its stages; returns how many
static uint32_t
check_file(const setup_parts* parts, const char* path)
{
  setup_chain chain;
  failure     f    = {""};
  char* const text = read_file(path);
  if (!setup_chain_load(&chain, path, parts, &f)) {
    fail_msg("%s", f.text);
  }
  for (uint32_t i = 0; i < chain.n_stages; ++i) {
    const setup_stage* const s = &chain.stages[i];
    rig                      r;
    rig_open(&r, parts->parts[s->part].stem);
    host_moves_all(&r);
    paste(&r, text);
    for (uint32_t k = 0; k < shell_shown_count(r.form.plugin); ++k) {
      if (!is_of_track(&r, k)) {
        assert_float_equal(frame_param(r.f, k), s->values[k], 0);
      }
    }
    rig_close(&r);
  }
  const uint32_t n = chain.n_stages;
  setup_chain_clear(&chain);
  free(text);
  return n;
}

static void
a_setup_file_is_read_as_the_renderer_reads_it(void** state)
{
  setup_table* const t = setup_table_new();
  DIR* const         d = opendir(SETUP_DIR);
  uint32_t           n = 0;
  (void)state;
  assert_non_null(t);
  assert_non_null(d);
  for (struct dirent* e = NULL; (e = readdir(d));) {
    char path[1024];
    (void)snprintf(path, sizeof(path), "%s/%s", SETUP_DIR, e->d_name);
    if (strstr(e->d_name, ".ini")) {
      char* const text     = read_file(path);
      const bool  is_whole = !strstr(text, "\nfrom = ");
      free(text);
      n += is_whole ? check_file(setup_table_parts(t), path) : 0;
    }
  }
  (void)closedir(d);
  assert_true(n > 20);
  setup_table_free(t);
}

static void
what_needs_a_base_is_said_and_stays(void** state)
{
  rig         r;
  char* const text = read_file(SETUP_DIR "/lead.ini");
  (void)state;
  rig_open(&r, "tube-stage");
  frame_take_param(r.f, rig_param(&r, "bias_pc"), 12);
  paste(&r, text);
  assert_non_null(strstr(frame_said(r.f), "no base"));
  assert_float_equal(rig_value(&r, "drive_db"),
                     shell_param(r.form.plugin, rig_param(&r, "drive_db"))->def,
                     0);
  assert_float_equal(rig_value(&r, "bias_pc"), 12, 0);
  assert_float_equal(rig_value(&r, "stages"), 2, 0); // "three"
  free(text);
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// One gesture

static void
only_what_changes_is_written_and_touched(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "air-shelf");
  paste(&r, "[air-shelf]\nair_db = 3\ntrim_db = -2\n");
  // A trim that goes down goes first
  assert_string_equal(r.log, "+trim_db trim_db=-2 +air_db air_db=3 "
                             "-trim_db -air_db ");
  assert_string_equal(frame_said(r.f), "Pasted: 2 controls moved.");
  paste(&r, "[air-shelf]\nair_db = 3\ntrim_db = -2\n");
  assert_string_equal(r.log, "");
  rig_close(&r);
}

static void
one_undo_takes_all_of_it_back(void** state)
{
  rig   r;
  float before[PLAYING_PORTS];
  (void)state;
  rig_open(&r, "speaker-breakup");
  key(&r, 'c');
  host_moves_all(&r);
  for (uint32_t i = 0; i < shell_shown_count(r.form.plugin); ++i) {
    before[i] = frame_param(r.f, i);
  }
  paste(&r, r.copied);
  key(&r, 'z');
  for (uint32_t i = 0; i < shell_shown_count(r.form.plugin); ++i) {
    assert_float_equal(frame_param(r.f, i), before[i], 0);
  }
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// What is said

static void
what_cannot_be_used_is_said_with_its_line(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "tube-stage");
  paste(&r, "; mine\n[tube-stage]\ndrive_db = 20\nblend = 70\n");
  assert_string_equal(frame_said(r.f),
                      "clipboard:4: unknown control 'blend' of tube-stage; "
                      "did you mean 'blend_pc'?");
  assert_float_equal(rig_value(&r, "drive_db"), 20, 0);
  paste(&r, "[tube-stage]\ndrive_db = 200\nblend = 70\n");
  assert_non_null(strstr(frame_said(r.f), "2 lines cannot be used, the first: "
                                          "clipboard:2: drive_db = 200"));
  assert_float_equal(rig_value(&r, "drive_db"), 20, 0);
  rig_close(&r);
}

static void
nothing_to_paste_is_said(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "tube-stage");
  paste(&r, "[air-shelf]\nair_db = 3\n");
  assert_non_null(strstr(frame_said(r.f), "no section [tube-stage]"));
  paste(&r, "");
  assert_non_null(strstr(frame_said(r.f), "no section [tube-stage]"));
  paste(&r, NULL);
  assert_string_equal(frame_said(r.f), "Why.");
  assert_string_equal(r.log, "");
  key(&r, 'z'); // Whatever is done next takes the message away
  assert_string_equal(frame_said(r.f), "");
  rig_close(&r);
}

static void
words_and_keys_do_the_same(void** state)
{
  rig    r;
  double x = 0;
  double y = 0;
  (void)state;
  rig_open(&r, "plate-send");
  key(&r, 'v');
  assert_int_equal(r.n_asked, 1);
  assert_true(frame_word_of(r.f, "paste", &x, &y));
  window_event e = {.kind = EVENT_PRESS, .x = x, .y = y, .time_s = 1};
  (void)frame_event(r.f, &e);
  assert_int_equal(r.n_asked, 2);
  assert_true(frame_word_of(r.f, "copy", &e.x, &e.y));
  e.time_s = 5;
  (void)frame_event(r.f, &e);
  assert_ptr_equal(strstr(r.copied, "[plate-send]\n"), r.copied);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_copy_pasted_has_the_same_bits),
    cmocka_unit_test(values_of_the_track_are_not_copied),
    cmocka_unit_test(a_setup_file_is_read_as_the_renderer_reads_it),
    cmocka_unit_test(what_needs_a_base_is_said_and_stays),
    cmocka_unit_test(only_what_changes_is_written_and_touched),
    cmocka_unit_test(one_undo_takes_all_of_it_back),
    cmocka_unit_test(what_cannot_be_used_is_said_with_its_line),
    cmocka_unit_test(nothing_to_paste_is_said),
    cmocka_unit_test(words_and_keys_do_the_same),
  };
  return cmocka_run_group_tests_name("copy-paste", tests, NULL, NULL);
}
