// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The picture of the thickening echo against closed forms, and against the
/// stage played another way

#include "picture_rig.h"

#include "plugins/window/pictures/echo_sound.h"
#include "plugins/window/pictures/noise.h"

#include <string.h>

static echo_tone*
tone(const thickening_echo_params* p, bool is_coarse)
{
  const picture_view v = {.values  = (const float*)p,
                          .settled = (const float*)p};
  float              inputs[PICTURE_MAX_INPUTS];
  (void)echo_tone_inputs(&v, inputs);
  return (echo_tone*)compute("thickening-echo", &thickening_echo_ops, 0, inputs,
                             is_coarse);
}

static thickening_echo_params
defaults(void)
{
  thickening_echo_params p;
  defaults_of(&thickening_echo_ops, (float*)&p);
  return p;
}

/// Butterworth: 1 / sqrt(1 + (fc / f)^4)
static double
butterworth_db(double cut_hz, double hz)
{
  return -0.5 * gain_to_db(1 + pow(cut_hz / hz, 4));
}

static void
the_low_cut_has_its_form(void** state)
{
  thickening_echo_params p = defaults();
  (void)state;
  for (int coarse = 0; coarse < 2; ++coarse) {
    p.low_cut_hz        = 20;
    echo_tone* const lo = tone(&p, coarse > 0);
    p.low_cut_hz        = 1500;
    echo_tone* const hi = tone(&p, coarse > 0);
    for (uint32_t i = 0; i < ECHO_N_HZ && lo->hz[i] < 8000.0F; ++i) {
      const double hz   = (double)lo->hz[i];
      const double want = butterworth_db(1500, hz) - butterworth_db(20, hz);
      assert_near((double)(hi->echo_db[i] - lo->echo_db[i]), want, 0.25);
      // The cut is behind the loop
      assert_near((double)(hi->round_db[i] - lo->round_db[i]), 0, 0.15);
    }
    free(lo);
    free(hi);
  }
}

/// Plays noise of the level of playing, as much of it in every octave
static double
heard_db(const thickening_echo_params* p)
{
  static noise s;
  static float y[NOISE_FRAMES];
  const double rms = db_to_gain(ECHO_PLAYING_DBFS);
  noise_make(&s, ECHO_LOWEST_HZ, ECHO_HIGHEST_HZ, 11);
  probe* const q = probe_new(&thickening_echo_ops, 1, &goes_on);
  assert_non_null(q);
  probe_set(q, (const float*)p);
  assert_true(noise_play(&s, q, rms, 2, y));
  probe_free(q);
  double squares = 0;
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    squares += (double)(y[i] * y[i]) / NOISE_FRAMES;
  }
  return 0.5 * gain_to_db(squares) - ECHO_PLAYING_DBFS;
}

static void
the_echo_is_as_loud_as_shown(void** state)
{
  (void)state;
  for (int k = 0; k < 4; ++k) {
    thickening_echo_params p = defaults();
    p.low_cut_hz             = k % 2 ? 1400.0F : 100.0F;
    p.drive_db               = k / 2 ? 12.0F : 0.0F;
    p.lift_db                = k / 2 ? 0.0F : 9.0F;
    p.repeats_pc             = 0;
    p.flutter_pc             = 0;
    p.dry                    = 1;
    echo_tone* const t       = tone(&p, k % 2 == 0);
    // Distortion adds little: 8 % at the higher drive
    assert_near(echo_arrival_db(t, &p, 1), heard_db(&p), 0.3);
    free(t);
  }
}

/// A burst of a tone, its echo and its repeats
static void
repeats_fall_as_shown(void** state)
{
  enum { N = 24000, T = 4800, BURST = 3840 };
  static float           x[N];
  thickening_echo_params p = defaults();
  (void)state;
  p.time_ms    = 100;
  p.repeats_pc = 60;
  p.flutter_pc = 0;
  p.drive_db   = 0;
  p.dry        = 1;
  for (uint32_t i = 0; i < BURST; ++i) {
    const double u = sin(DSP_PI * i / BURST);
    x[i] = (float)(0.05 * u * u * sin(2 * DSP_PI * 1000 * i / PROBE_RATE_HZ));
  }
  const double in_db = probe_spectrum_db(x, BURST, 1000);
  probe* const q     = probe_new(&thickening_echo_ops, 1, &goes_on);
  assert_non_null(q);
  probe_set(q, (const float*)&p);
  assert_true(probe_play_one(q, x, x, N));
  probe_free(q);

  echo_tone* const t = tone(&p, false);
  for (uint32_t k = 1; k <= 3; ++k) {
    float db[ECHO_N_HZ];
    echo_arrival(t, &p, k, db);
    const size_t from = (size_t)k * T - 480;
    assert_near((double)picture_curve_at(t->hz, db, ECHO_N_HZ, 1000),
                probe_spectrum_db(x + from, T, 1000) - in_db, 0.1 * k + 0.1);
  }
  free(t);
}

static void
an_echo_that_is_off_shows_none(void** state)
{
  thickening_echo_params p = defaults();
  (void)state;
  echo_tone* const t = tone(&p, true);
  p.wet_db           = -60;
  assert_true(echo_arrival_db(t, &p, 1) < -200);
  p.wet_db     = 0;
  p.repeats_pc = 0;
  assert_true(echo_arrival_db(t, &p, 2) < -200);
  assert_true(echo_arrival_db(t, &p, 1) > -20);
  free(t);
}

/// The handle stands at the time and moves with it, the wet level with dB
static void
handles_follow_the_hand(void** state)
{
  const chart_box        box[] = {{50, 78, 440, 174}, {544, 78, 196, 174}};
  thickening_echo_params p     = defaults();
  picture_handle         h[2][PICTURE_MAX_HANDLES];
  (void)state;
  echo_tone* const     t      = tone(&p, true);
  const void* const    has[]  = {t};
  const void* const    none[] = {NULL};
  const picture_view   v      = {.values  = (const float*)&p,
                                 .settled = (const float*)&p,
                                 .figure  = box,
                                 .result  = has,
                                 .before  = none};
  const picture* const pic    = picture_of("thickening-echo");
  (void)pic->handles(&v, h[0]);
  assert_near(h[0][0].x, 50 + 440 * 34.0 / 120.0, 1e-3);
  p.time_ms *= 1.01F;
  p.wet_db += 3;
  (void)pic->handles(&v, h[1]);
  const double moved_px = h[0][0].across_px * log(1.01) / log(250.0 / 5.0);
  assert_near(h[1][0].x - h[0][0].x, moved_px, 0.02);
  assert_near(h[1][0].y - h[0][0].y, h[0][0].upright_px * 3 / 66, 1e-3);
  // By a hundredth of it
  p.repeats_pc += 0.12F;
  (void)pic->handles(&v, h[0]);
  assert_near(h[0][1].y - h[1][1].y, h[1][1].upright_px * 0.12 / 90, 0.01);
  free(t);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_low_cut_has_its_form),
    cmocka_unit_test(the_echo_is_as_loud_as_shown),
    cmocka_unit_test(repeats_fall_as_shown),
    cmocka_unit_test(an_echo_that_is_off_shows_none),
    cmocka_unit_test(handles_follow_the_hand),
  };
  return cmocka_run_group_tests_name("picture_echo", tests, NULL, NULL);
}
