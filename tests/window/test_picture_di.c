// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the DI clean-up computes, against closed forms, and
/// where its handles stand

#include "picture_rig.h"

#include "common/stages/di_cleanup.h"

#include <string.h>

enum { N_HZ = 240 + 7 * HUM_HARMONICS };

/// As the picture has it
typedef struct {
  float hz[N_HZ];
  float db[N_HZ];
  float bare_db[N_HZ];
} response;

static di_cleanup_params
defaults(void)
{
  di_cleanup_params p;
  defaults_of(&di_cleanup_ops, (float*)&p);
  return p;
}

static response*
respond(const di_cleanup_params* p)
{
  assert_int_equal(picture_of("di-cleanup")->parts[0].size, sizeof(response));
  return (response*)(void*)compute("di-cleanup", &di_cleanup_ops, 0,
                                   (const float*)p, false);
}

/// |H|^2 = 1 / (1 + (fc / f)^2n): Butterworth, of order n
static void
low_cuts_fall_as_butterworth(void** state)
{
  di_cleanup_params p = defaults();
  (void)state;
  p.body_db = p.presence_db = 0;
  for (int slope = 0; slope < 3; ++slope) {
    p.low_cut_slope   = (float)slope;
    response* const r = respond(&p);
    for (uint32_t i = 0; i < N_HZ; ++i) {
      const double ratio = (double)p.low_cut_hz / (double)r->hz[i];
      const double want  = -10 * log10(1 + pow(ratio, 2 * (2 + slope)));
      assert_near((double)r->db[i], want, 0.05);
    }
    free(r);
  }
}

/// A bell has its gain in its middle and half of it at both ends of its width
static void
check_bell(const di_cleanup_params* p, float hz, float db, float oct)
{
  response* const r    = respond(p);
  const float     at[] = {hz, hz * exp2f(-0.5F * oct), hz * exp2f(0.5F * oct)};
  const double    share[] = {1, 0.5, 0.5};
  for (int i = 0; i < 3; ++i) {
    const float got = picture_curve_at(r->hz, r->db, N_HZ, at[i]);
    assert_near((double)got, share[i] * (double)db, 0.05);
  }
  free(r);
}

static void
bells_are_as_wide_as_their_brackets(void** state)
{
  di_cleanup_params p = defaults();
  (void)state;
  p.low_cut_hz  = 20;
  p.body_db     = 6;
  p.body_oct    = 1.5F;
  p.presence_db = 0;
  check_bell(&p, p.body_hz, p.body_db, p.body_oct);
  p.body_db      = 0;
  p.presence_db  = -9;
  p.presence_oct = 0.7F;
  check_bell(&p, p.presence_hz, p.presence_db, p.presence_oct);
}

/// 30 dB or more off each harmonic (hum_notch.h); handles stand on the curve
/// without them
static void
notches_reach_their_depth(void** state)
{
  static const double mains_hz[] = {50, 60};
  di_cleanup_params   p          = defaults();
  (void)state;
  response* const without = respond(&p);
  for (int hum = 0; hum < 2; ++hum) {
    p.hum             = (float)(1 + hum);
    response* const r = respond(&p);
    for (uint32_t i = 1; i < N_HZ; ++i) {
      assert_true(r->hz[i] >= r->hz[i - 1]);
    }
    for (int k = 1; k <= HUM_HARMONICS; ++k) {
      const float hz   = (float)(k * mains_hz[hum]);
      const float bare = picture_curve_at(r->hz, r->bare_db, N_HZ, hz);
      const float deep = picture_curve_at(r->hz, r->db, N_HZ, hz);
      assert_below((double)(deep - bare), -30);
      assert_near((double)bare,
                  (double)picture_curve_at(without->hz, without->db, N_HZ, hz),
                  0.1);
    }
    free(r);
  }
  free(without);
}

static void
gain_and_pauses_are_left_out(void** state)
{
  const picture_part* const part = &picture_of("di-cleanup")->parts[0];
  di_cleanup_params         p    = defaults();
  picture_view              v    = {.values = (const float*)&p};
  float                     a[PICTURE_MAX_INPUTS];
  float                     b[PICTURE_MAX_INPUTS];
  (void)state;
  assert_int_equal(part->inputs(&v, a), di_cleanup_n_params);
  p.gain_db  = 11;
  p.pause_db = 30;
  assert_int_equal(part->inputs(&v, b), di_cleanup_n_params);
  assert_memory_equal(a, b, di_cleanup_n_params * sizeof(float));
  p.body_db = 3;
  (void)part->inputs(&v, b);
  assert_true(memcmp(a, b, di_cleanup_n_params * sizeof(float)) != 0);
}

// ---------------------------------------------------------------------------
// Handles

static uint32_t
handles_of(const di_cleanup_params* p, picture_handle* h)
{
  const chart_box   box      = {50, 80, 690, 170};
  const void* const none[1]  = {NULL};
  const float       meters[] = {0};
  picture_view      v        = {.values  = (const float*)p,
                                .settled = (const float*)p,
                                .meters  = meters,
                                .figure  = &box,
                                .result  = none,
                                .before  = none};
  return picture_of("di-cleanup")->handles(&v, h);
}

static double
place_of(double value, const param_info* info)
{
  const double lo = (double)info->min;
  const double hi = (double)info->max;
  return info->taper == TAPER_LOG ? log(value / lo) / log(hi / lo)
                                  : (value - lo) / (hi - lo);
}

/// Each handle moves across as far as the hand that moves its row, at first
static void
handles_follow_the_hand(void** state)
{
  const di_cleanup_params p = defaults();
  picture_handle          from[PICTURE_MAX_HANDLES];
  picture_handle          to[PICTURE_MAX_HANDLES];
  (void)state;
  const uint32_t n = handles_of(&p, from);
  assert_int_equal(n, 7);
  for (uint32_t i = 0; i < n; ++i) {
    di_cleanup_params       q    = p;
    const int               row  = from[i].across;
    const param_info* const info = &di_cleanup_ops.params[row];
    const float             old  = ((const float*)&p)[row];
    ((float*)&q)[row]            = 1.002F * old;
    assert_int_equal(handles_of(&q, to), n);
    const double turned =
      place_of(1.002 * (double)old, info) - place_of((double)old, info);
    assert_near(to[i].x - from[i].x, turned * from[i].across_px,
                0.01 * fabs(turned * from[i].across_px));
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(low_cuts_fall_as_butterworth),
    cmocka_unit_test(bells_are_as_wide_as_their_brackets),
    cmocka_unit_test(notches_reach_their_depth),
    cmocka_unit_test(gain_and_pauses_are_left_out),
    cmocka_unit_test(handles_follow_the_hand),
  };
  return cmocka_run_group_tests_name("picture-di", tests, NULL, NULL);
}
