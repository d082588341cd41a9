// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The picture of the bus tone against closed forms, and against the stage
/// played another way

#include "picture_rig.h"

#include "plugins/window/pictures/bus_sound.h"

static bus_curves*
curves(const bus_tone_params* p, bool is_coarse)
{
  const picture_view v = {.values  = (const float*)p,
                          .settled = (const float*)p};
  float              inputs[PICTURE_MAX_INPUTS];
  (void)bus_curves_inputs(&v, inputs);
  return (bus_curves*)compute("bus-tone", &bus_tone_ops, 0, inputs, is_coarse);
}

/// Nothing but what a test sets
static bus_tone_params
flat(void)
{
  bus_tone_params p;
  defaults_of(&bus_tone_ops, (float*)&p);
  p.low_cut_hz     = 20;
  p.mid_body_db    = 0;
  p.side_body_db   = 0;
  p.side_treble_db = 0;
  p.presence_db    = 0;
  return p;
}

static double
middle_at(const bus_curves* r, double hz)
{
  return (double)picture_curve_at(r->hz, r->middle_db, BUS_N_HZ, (float)hz);
}

static double
sides_at(const bus_curves* r, double hz)
{
  return (double)picture_curve_at(r->hz, r->sides_db, BUS_N_HZ, (float)hz);
}

/// Butterworth: 1 / sqrt(1 + (fc / f)^2n), of the order n
static double
butterworth_db(int order, double cut_hz, double hz)
{
  return -0.5 * gain_to_db(1 + pow(cut_hz / hz, 2 * order));
}

static void
cuts_have_their_form(void** state)
{
  bus_tone_params p = flat();
  (void)state;
  p.low_cut_hz    = 80;
  p.mono_below_hz = 150;
  for (int coarse = 0; coarse < 2; ++coarse) {
    bus_curves* const r = curves(&p, coarse > 0);
    for (uint32_t i = 0; i < BUS_N_HZ && r->hz[i] < 8000.0F; ++i) {
      const double hz  = (double)r->hz[i];
      const double low = butterworth_db(2, 80, hz);
      assert_near((double)r->middle_db[i], low, 0.05);
      // Down to where the click's answer is as small as its rounding
      const double sides = low + butterworth_db(4, 150, hz);
      if (sides > -70) {
        assert_near((double)r->sides_db[i], sides, 0.1);
      }
    }
    free(r);
  }
}

/// A bell has its gain in its centre and half of it half its width away; a
/// shelf has half its gain at its frequency.  The width leaves them alone.
static void
gains_are_where_they_are_set(void** state)
{
  bus_tone_params p = flat();
  (void)state;
  p.mid_body_db       = -6;
  p.side_body_db      = 4;
  p.side_body_hz      = 500;
  p.side_treble_db    = 0;
  p.width_pc          = 0;
  bus_curves* const r = curves(&p, false);
  assert_near(middle_at(r, 300), -6, 0.03);
  assert_near(middle_at(r, 300 * exp2(0.75)), -3, 0.03);
  assert_near(middle_at(r, 300 * exp2(-0.75)), -3, 0.03);
  assert_near(sides_at(r, 500), 4, 0.03);
  assert_near(sides_at(r, 500 * exp2(0.75)), 2, 0.03);
  free(r);

  p                    = flat();
  p.side_treble_db     = 8;
  p.presence_db        = 5;
  p.presence_oct       = 0.5F;
  bus_curves* const r2 = curves(&p, false);
  assert_near(middle_at(r2, 2000), 5, 0.1); // Points of the curve stand apart
  assert_near(middle_at(r2, 2000 * exp2(-0.25)), 2.5, 0.1);
  assert_near(middle_at(r2, 10000), 0, 0.1);
  assert_near(sides_at(r2, 6500) - middle_at(r2, 6500), 4, 0.05);
  free(r2);
}

/// A tone in the middle and another, equally loud, at the sides
static void
the_share_is_what_comes_out(void** state)
{
  enum { N = 24000, SETTLED = 4800, COUNTED = 19200 };
  static float    x[2][N];
  bus_tone_params p = flat();
  (void)state;
  p.side_body_db = 6;
  p.mid_body_db  = -3;
  p.width_pc     = 150;
  for (uint32_t i = 0; i < N; ++i) {
    const double t = i / PROBE_RATE_HZ;
    const double m = 0.1 * sin(2 * DSP_PI * 300 * t);
    const double s = 0.1 * sin(2 * DSP_PI * 305 * t);
    x[0][i]        = (float)(m + s);
    x[1][i]        = (float)(m - s);
  }
  const float* const in[] = {x[0], x[1]};
  float* const       to[] = {x[0], x[1]};
  probe* const       q    = probe_new(&bus_tone_ops, 2, &goes_on);
  assert_non_null(q);
  probe_set(q, (const float*)&p);
  assert_true(probe_play(q, in, to, N));
  probe_free(q);
  const float* const y = x[0] + SETTLED;
  const double       m = db_to_gain(probe_spectrum_db(y, COUNTED, 300));
  const double       s = db_to_gain(probe_spectrum_db(y, COUNTED, 305));

  bus_curves* const r = curves(&p, false);
  assert_near(bus_share(1.5 * bus_ratio(r, 302)), s / (s + m), 0.005);
  free(r);
  assert_near(bus_share(1), 0.5, 1e-9); // As it came
  assert_near(bus_share(0), 0, 1e-9);   // Mono
}

static const chart_box boxes[] = {{50, 78, 506, 144}, {605, 78, 135, 144}};

static void
handles_follow_the_hand(void** state)
{
  bus_tone_params p = flat();
  picture_handle  h[2][PICTURE_MAX_HANDLES];
  (void)state;
  p.mono_below_hz             = 100;
  p.side_treble_db            = 3;
  bus_curves* const    r      = curves(&p, true);
  const void* const    has[]  = {r};
  const void* const    none[] = {NULL};
  const picture_view   v      = {.values  = (const float*)&p,
                                 .settled = (const float*)&p,
                                 .figure  = boxes,
                                 .result  = has,
                                 .before  = none};
  const picture* const pic    = picture_of("bus-tone");
  const uint32_t       n      = pic->handles(&v, h[0]);
  assert_true(n <= PICTURE_MAX_HANDLES);
  p.width_pc += 1;
  p.mono_below_hz += 1;
  (void)pic->handles(&v, h[1]);
  uint32_t seen = 0;
  for (uint32_t i = 0; i < n; ++i) {
    const double moved_px = h[1][i].x - h[0][i].x;
    if (h[0][i].across == BUS_ROW(width_pc)) {
      assert_near(moved_px, h[0][i].across_px / 200, 0.005);
      ++seen;
    } else if (h[0][i].across == BUS_ROW(mono_below_hz)) {
      assert_near(moved_px, h[0][i].across_px / 300, 0.01);
      ++seen;
    }
  }
  assert_int_equal(seen, 2);
  free(r);
}

/// All at one pitch and flat: each can still be taken hold of
static void
no_handle_covers_another(void** state)
{
  bus_tone_params p = flat();
  picture_handle  h[PICTURE_MAX_HANDLES];
  (void)state;
  p.low_cut_hz              = 200;
  p.mid_body_hz             = 200;
  p.side_body_hz            = 200;
  p.mono_below_hz           = 200;
  p.presence_hz             = 3000;
  p.side_treble_hz          = 3000;
  bus_curves* const  r      = curves(&p, true);
  const void* const  has[]  = {r};
  const void* const  none[] = {NULL};
  const picture_view v      = {.values  = (const float*)&p,
                               .settled = (const float*)&p,
                               .figure  = boxes,
                               .result  = has,
                               .before  = none};
  const uint32_t     n      = picture_of("bus-tone")->handles(&v, h);
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < i; ++k) {
      assert_true(fabs(h[i].x - h[k].x) > 9 || fabs(h[i].y - h[k].y) > 9);
    }
  }
  free(r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(cuts_have_their_form),
    cmocka_unit_test(gains_are_where_they_are_set),
    cmocka_unit_test(the_share_is_what_comes_out),
    cmocka_unit_test(handles_follow_the_hand),
    cmocka_unit_test(no_handle_covers_another),
  };
  return cmocka_run_group_tests_name("picture_bus_tone", tests, NULL, NULL);
}
