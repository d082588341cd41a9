// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// No control of any form clicks: on a steady 220 Hz sine a jump from one end
/// of its range to the other, or from any choice to any other, leaves nothing
/// above 4 kHz that is stronger than CLICK_LIMIT_DB (tests/support/click.h).
/// Choices that rebuild a model and crossfade within 20 ms keep the limit, too.
///
/// Controls whose sound itself is louder there are listed below: the limit
/// holds up to `clean_to`; over the whole range a jump may be BESIDE_DB louder
/// than the loudest steady sound on the way.

#include "acts_when.h"

#include "tests/support/click.h"

#define RATE_HZ 48000.0

#define BESIDE_DB 3.0

/// Controls that distort a 220 Hz sine at -18 dBFS RMS above `clean_to`
typedef struct {
  const char* stem;
  const char* symbol;
  float       clean_to;
} distorting;

static const distorting distorts[] = {
  {"tube-stage", "drive_db", 20.0F},
  {"speaker-breakup", "drive_db", 0.0F},
  {"speaker-breakup", "breakup_db", 22.0F},
};

#define N_DISTORTS (sizeof(distorts) / sizeof(distorts[0]))

enum { JUMP = 72000 + 13, N = JUMP + 38400 };

static float sine[2][N];
static float heard[2][N];

/// Makes a sine at -18 dBFS RMS left and half of that right, faded in so softly
/// that its start does not ring above 4 kHz
static void
fill_sine(void)
{
  const double peak = sqrt(2.0) * db_to_gain(ALIGN_RMS_DBFS);
  check_sine(sine[0], N, CLICK_SINE_HZ, peak, RATE_HZ);
  for (uint32_t i = 0; i < N; ++i) {
    const double t    = fmin(i / (0.2 * RATE_HZ), 1.0);
    const double fade = pow(0.5 - 0.5 * cos(DSP_PI * t), 4.0);
    sine[0][i]        = (float)(fade * (double)sine[0][i]);
    sine[1][i]        = 0.5F * sine[0][i];
  }
}

/// Takes the louder channel for each peak
static click_peaks
jump(const plugin_form* form, uint32_t control, float from, float to)
{
  const param_info* const p       = shell_param(form->plugin, control);
  const acts_when* const  c       = condition_of(form->plugin->stem, p->symbol);
  float* const            in_at[] = {sine[0], sine[1]};
  float* const            out_at[] = {heard[0], heard[1]};
  player                  y        = player_new(&the_bundle, form, RATE_HZ);
  player_set(&y, c ? c->settings : NULL);
  y.control[control] = from;
  player_start(&y);
  player_run(&y, in_at, out_at, 0, ACTS_THEN);
  player_set(&y, c ? c->then : NULL);
  player_run(&y, in_at, out_at, ACTS_THEN, JUMP - ACTS_THEN);
  y.control[control] = to;
  player_run(&y, in_at, out_at, JUMP, N - JUMP);
  player_free(&y);

  click_peaks most = {-240.0, -240.0, -240.0};
  for (uint32_t k = 0; k < form->n_out; ++k) {
    const click_peaks here = click_of_recording(heard[k], N, JUMP, RATE_HZ);
    most.before_db         = fmax(most.before_db, here.before_db);
    most.jump_db           = fmax(most.jump_db, here.jump_db);
    most.after_db          = fmax(most.after_db, here.after_db);
  }
  return most;
}

/// Jumps there and back; returns the louder one
static double
jumps_db(const plugin_form* form, uint32_t control, float a, float b)
{
  return fmax(jump(form, control, a, b).jump_db,
              jump(form, control, b, a).jump_db);
}

/// Returns the loudest jump between any two of the values, both ways
static double
worst_jump_db(const plugin_form* form, uint32_t control)
{
  const param_info* const p     = shell_param(form->plugin, control);
  double                  worst = -240.0;
  for (uint32_t b = 1; b < count_of_values(p); ++b) {
    for (uint32_t a = 0; a < b; ++a) {
      worst =
        fmax(worst, jumps_db(form, control, value_at(p, a), value_at(p, b)));
    }
  }
  return worst;
}

static const distorting*
distorting_of(const plugin_form* form, const char* symbol)
{
  for (size_t i = 0; i < N_DISTORTS; ++i) {
    if (!strcmp(distorts[i].stem, form->plugin->stem) &&
        !strcmp(distorts[i].symbol, symbol)) {
      return &distorts[i];
    }
  }
  return NULL;
}

/// Returns the loudest steady sound above 4 kHz at 13 places on the way
static double
loudest_at_rest_db(const plugin_form* form, uint32_t control)
{
  const param_info* const p     = shell_param(form->plugin, control);
  double                  worst = -240.0;
  for (int k = 0; k <= 12; ++k) {
    const float v = p->min + (float)k / 12.0F * (p->max - p->min);
    worst         = fmax(worst, jump(form, control, v, v).after_db);
  }
  return worst;
}

/// Checks a control that distorts; true if it keeps both of its limits
static bool
distorts_cleanly(const plugin_form* form,
                 uint32_t           control,
                 const distorting*  d,
                 double             whole_db)
{
  const param_info* const p = shell_param(form->plugin, control);
  const double clean_db     = jumps_db(form, control, p->min, d->clean_to);
  const double rest_db      = loudest_at_rest_db(form, control);
  print_message("# %s %s: %.1f dBFS up to %g, %.1f over all; at rest %.1f\n",
                form->uri, p->symbol, clean_db, (double)d->clean_to, whole_db,
                rest_db);
  if (whole_db <= CLICK_LIMIT_DB) {
    print_error("%s: %s does not distort; take it out of distorts[]\n",
                form->uri, p->symbol);
    return false;
  }
  const bool is_good =
    clean_db <= CLICK_LIMIT_DB && whole_db <= rest_db + BESIDE_DB;
  if (!is_good) {
    print_error("%s: %s clicks\n", form->uri, p->symbol);
  }
  return is_good;
}

static void
check_form(const plugin_form* form, void* data)
{
  uint32_t* const n_bad   = data;
  double          most_db = -240.0;
  const char*     most    = "";
  for (uint32_t i = 0; i < shell_shown_count(form->plugin); ++i) {
    const char* const       symbol = shell_param(form->plugin, i)->symbol;
    const distorting* const d      = distorting_of(form, symbol);
    const double            db     = worst_jump_db(form, i);
    const bool              is_good =
      d ? distorts_cleanly(form, i, d, db) : db <= CLICK_LIMIT_DB;
    if (!is_good && !d) {
      print_error("%s: %s clicks: %.1f dBFS above 4 kHz\n", form->uri, symbol,
                  db);
    }
    *n_bad += !is_good;
    if (!d && db > most_db) {
      most_db = db;
      most    = symbol;
    }
  }
  print_message("# %s: %.1f dBFS at most, by %s\n", form->uri, most_db, most);
}

static void
test_no_control_clicks(void** state)
{
  (void)state;
  uint32_t n_bad = 0;
  for_each_form(check_form, &n_bad);
  assert_int_equal(n_bad, 0);
}

static void
count_row(const plugin_form* form, void* data)
{
  uint32_t* const n = data;
  for (uint32_t i = 0; i < shell_shown_count(form->plugin); ++i) {
    n[0] += !form->is_stereo_form &&
            distorting_of(form, shell_param(form->plugin, i)->symbol) != NULL;
  }
}

static void
test_every_row_is_of_a_control(void** state)
{
  (void)state;
  uint32_t n = 0;
  for_each_form(count_row, &n);
  assert_int_equal(n, N_DISTORTS);
}

static int
load_and_fill(void** state)
{
  fill_sine();
  (void)load(state);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_no_control_clicks),
    cmocka_unit_test(test_every_row_is_of_a_control),
  };
  return cmocka_run_group_tests_name("every-control-clicks", tests,
                                     load_and_fill, unload);
}
