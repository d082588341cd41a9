// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Every control input of every form does something: moved from one end of its
/// range to the other while it plays, or from any choice to any other, it
/// changes the output by more than DIFFERENT_DB.

#include "acts_when.h"

#include "tests/support/plucks.h"
#include "tests/support/stage_rows.h"

#define RATE_HZ 48000.0
#define BLOCK   240U // Whole blocks in a part

/// RMS of the difference in half a second, relative to that of the louder one,
/// or to QUIET: far below audibility, far above rounding
#define DIFFERENT_DB (-80.0)
#define QUIET        1e-3

enum { PART = 24000, N = 4 * PART, MOVE = 4800 };

static float probe[2][N];
static float heard[2][2][N];

/// Makes playing that differs between the channels, over a little noise: a
/// second loud, half a second soft, half a second silent
static void
fill_probe(void)
{
  uint32_t seed = 11;
  plucks_render(PLUCKS_CHORDS, probe[0], N);
  plucks_render(PLUCKS_RIFF, probe[1], N);
  for (uint32_t i = 0; i < N; ++i) {
    const float level = i < 2 * PART ? 2.0F : i < 3 * PART ? 0.02F : 0.0F;
    for (uint32_t k = 0; k < 2; ++k) {
      probe[k][i] = level * (probe[k][i] + 0.02F * check_noise(&seed));
    }
  }
}

/// Plays while a control goes from one value to another
static void
play(const plugin_form* form,
     const char*        settings,
     const char*        then,
     uint32_t           control,
     float              from,
     float              to,
     float (*out)[N])
{
  float* const in_at[]  = {probe[0], probe[1]};
  float* const out_at[] = {out[0], out[1]};
  player       y        = player_new(&the_bundle, form, RATE_HZ);
  player_set(&y, settings);
  player_start(&y);
  for (uint32_t at = 0; at < N; at += BLOCK) {
    if (at == ACTS_THEN) {
      player_set(&y, then);
    }
    y.control[control] = at < MOVE ? from : to;
    player_run(&y, in_at, out_at, at, BLOCK);
  }
  player_free(&y);
}

/// Returns the difference of `n` frames from `at` on
static double
difference_of_part(uint32_t n_channels,
                   float (*a)[N],
                   float (*b)[N],
                   uint32_t at,
                   uint32_t n)
{
  double apart = 0.0, loud_a = 0.0, loud_b = 0.0;
  for (uint32_t k = 0; k < n_channels; ++k) {
    for (uint32_t i = at; i < at + n; ++i) {
      const double x = (double)a[k][i];
      const double y = (double)b[k][i];
      apart += (x - y) * (x - y);
      loud_a += x * x;
      loud_b += y * y;
    }
  }
  const double quiet = QUIET * QUIET * n_channels * n;
  return 10.0 * log10(apart / fmax(fmax(loud_a, loud_b), quiet) + 1e-30);
}

/// Returns the difference in the part where it is largest
static double
difference_db(uint32_t n_channels, float (*a)[N], float (*b)[N])
{
  double most = -300.0;
  for (uint32_t at = 0; at < N; at += PART) {
    most = fmax(most, difference_of_part(n_channels, a, b, at, PART));
  }
  return most;
}

/// Returns the least difference between any two of its values
static double
least_difference_db(const plugin_form* form,
                    uint32_t           control,
                    const char*        settings,
                    const char*        then)
{
  const param_info* const p     = shell_param(form->plugin, control);
  const uint32_t          n     = count_of_values(p);
  double                  least = 300.0;
  for (uint32_t a = 0; a < n; ++a) {
    const float from = value_at(p, a);
    play(form, settings, then, control, from, from, heard[0]);
    for (uint32_t b = a + 1; b < n; ++b) {
      play(form, settings, then, control, from, value_at(p, b), heard[1]);
      least = fmin(least, difference_db(form->n_out, heard[0], heard[1]));
    }
  }
  return least;
}

/// Checks a control under a condition, or none (NULL)
static bool
acts(const plugin_form* form, uint32_t control, const acts_when* c)
{
  const char* const then = c ? c->then : NULL;
  const double      db =
    least_difference_db(form, control, c ? c->settings : NULL, then);
  print_message("# %s %s: %.1f dB\n", form->uri,
                shell_param(form->plugin, control)->symbol, db);
  if (db > DIFFERENT_DB || shell_param_is_stages(form->plugin, control)) {
    return db > DIFFERENT_DB;
  }
  // The bypass sounds the same as a stage that does nothing
  const stage_row* const row = stage_row_of(form->plugin->stem);
  assert_non_null(row);
  return least_difference_db(form, control, row->hardest, then) > DIFFERENT_DB;
}

static void
check_form(const plugin_form* form, void* data)
{
  uint32_t* const n_bad = data;
  for (uint32_t i = 0; i < shell_shown_count(form->plugin); ++i) {
    const char* const symbol = shell_param(form->plugin, i)->symbol;
    if (!acts(form, i, condition_of(form->plugin->stem, symbol))) {
      print_error("%s: %s does nothing; use it, or say when it acts in "
                  "tests/plugins/acts_when.h\n",
                  form->uri, symbol);
      ++*n_bad;
    }
  }
}

static void
test_every_control_acts(void** state)
{
  (void)state;
  uint32_t n_bad = 0;
  for_each_form(check_form, &n_bad);
  assert_int_equal(n_bad, 0);
}

/// Without it the control does nothing in at least one form of one plugin
static bool
is_needed(const acts_when* c)
{
  const plugin* p        = NULL;
  bool          is_known = false;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (c->stem && strcmp(c->stem, p->stem) != 0) {
      continue;
    }
    const plugin_form form = shell_form(p, 0);
    for (uint32_t i = 0; i < shell_shown_count(p); ++i) {
      if (strcmp(shell_param(p, i)->symbol, c->symbol) != 0) {
        continue;
      }
      is_known = true;
      if (!acts(&form, i, NULL)) {
        return true;
      }
    }
  }
  print_error("acts_when.h: %s %s: %s\n", c->stem ? c->stem : "any plugin",
              c->symbol,
              is_known ? "acts by default; take the row out"
                       : "there is no such control");
  return false;
}

static void
test_every_condition_is_needed(void** state)
{
  (void)state;
  uint32_t n_bad = 0;
  for (size_t i = 0; i < N_CONDITIONS; ++i) {
    n_bad += !is_needed(&conditions[i]);
  }
  assert_int_equal(n_bad, 0);
}

static int
load_and_fill(void** state)
{
  fill_probe();
  (void)load(state);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_control_acts),
    cmocka_unit_test(test_every_condition_is_needed),
  };
  return cmocka_run_group_tests_name("every-control", tests, load_and_fill,
                                     unload);
}
