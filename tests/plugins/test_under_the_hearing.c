// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Nothing under the hearing: below 20 Hz, the lower end of hearing (common
/// practice; IEC 61672 weighs nothing below 10 Hz, ISO 389-7 begins at 20), no
/// stage puts out more than -60 dB re all on tones that bring none, at its
/// defaults and with every control that bends the signal at its ends
/// (tests/support/under_rows.h).  Infrasound costs headroom and moves woofers.
///
/// By a Hann window of 2.7 s, whose leakage from the lowest tone, 110 Hz, is
/// below -120 dB at 20 Hz (18 dB per octave from the main lobe on).

#include "acts_when.h"

#include "tests/support/the_bundle.h"
#include "tests/support/under_rows.h"

#include <kiss_fftr.h>

#define RATE_HZ 48000.0
#define MUST_DB (-60.0)
#define BLOCK   512U

enum { WINDOW = 131072, N = WINDOW + 2 * 48000 };

static float sound[2][N], out[2][N];

/// Power below 20 Hz re all, over the end
static double
under_db(const float* x)
{
  static float        windowed[WINDOW];
  static kiss_fft_cpx bins[WINDOW / 2 + 1];
  for (uint32_t i = 0; i < WINDOW; ++i) {
    const double turn = 2.0 * DSP_PI * i / WINDOW;
    windowed[i]       = (float)((0.5 - 0.5 * cos(turn)) * (double)x[i]);
  }
  kiss_fftr_cfg fft = kiss_fftr_alloc(WINDOW, 0, NULL, NULL);
  assert_non_null(fft);
  kiss_fftr(fft, windowed, bins);
  kiss_fftr_free(fft);
  double low = 0.0;
  double all = 0.0;
  for (uint32_t i = 0; i <= WINDOW / 2; ++i) {
    const double re    = (double)bins[i].r;
    const double im    = (double)bins[i].i;
    const double power = (i ? 1.0 : 0.5) * (re * re + im * im);
    low += i * RATE_HZ / WINDOW <= 20.0 ? power : 0.0;
    all += power;
  }
  return 10.0 * log10(low / all + 1e-30);
}

static bool
is_row_of(const plugin_form* form, const under_row* row)
{
  return form->n_in == 1 && form->n_out == 1 &&
         !strcmp(form->plugin->stem, row->stem);
}

static double worst_db = -300.0;

static void
check_row(const plugin_form* form, const under_row* row, uint32_t* n_bad)
{
  for (int k = 0; k < UNDER_N_SOUNDS; ++k) {
    float* const in_at[]  = {sound[0], sound[1]};
    float* const out_at[] = {out[0], out[1]};
    for (uint32_t i = 0; i < N; ++i) {
      sound[0][i] = (float)under_sound(k, i / RATE_HZ);
    }
    player y = player_new(&the_bundle, form, RATE_HZ);
    player_set(&y, row->settings);
    player_start(&y);
    player_play(&y, in_at, out_at, N, BLOCK);
    player_free(&y);
    const double db = under_db(out[0] + N - WINDOW);
    worst_db        = fmax(worst_db, db);
    if (!(db < MUST_DB)) {
      print_error("%s %s, %s: %.1f dB below 20 Hz\n", row->stem, row->settings,
                  under_sounds[k], db);
      ++*n_bad;
    }
  }
}

static uint32_t n_bad, n_rows;

static void
check_form(const plugin_form* form, void* data)
{
  (void)data;
  for (size_t i = 0; i < UNDER_N_ROWS; ++i) {
    if (is_row_of(form, &under_rows[i])) {
      ++n_rows;
      check_row(form, &under_rows[i], &n_bad);
    }
  }
}

static void
test_nothing_under_the_hearing(void** state)
{
  (void)state;
  for_each_form(check_form, NULL);
  print_message("# %u rows, worst %.1f dB\n", n_rows, worst_db);
  assert_int_equal(n_rows, UNDER_N_ROWS);
  assert_int_equal(n_bad, 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_nothing_under_the_hearing),
  };
  return cmocka_run_group_tests_name("under-the-hearing", tests, load, unload);
}
