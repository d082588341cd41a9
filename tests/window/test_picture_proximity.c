// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The picture of the proximity lift against closed forms

#include "picture_rig.h"

#include "common/core/air.h"
#include "plugins/window/pictures/proximity_sound.h"

static void*
shown(const proximity_lift_params* p, uint32_t part, bool is_coarse)
{
  const picture_view v = {.values  = (const float*)p,
                          .settled = (const float*)p};
  float              inputs[PICTURE_MAX_INPUTS];
  (void)picture_of("proximity-lift")->parts[part].inputs(&v, inputs);
  return compute("proximity-lift", &proximity_lift_ops, part, inputs,
                 is_coarse);
}

static proximity_lift_params
defaults(void)
{
  proximity_lift_params p;
  defaults_of(&proximity_lift_ops, (float*)&p);
  return p;
}

/// |1 + fp / jf|, fp = (1 - share) c / (2 pi sqrt(d^2 + a^2)): Eargle 1994,
/// secs. 87 and 88
static double
bass_db(double share, double distance_cm, double source_cm, double hz)
{
  const double m     = 0.01 * hypot(distance_cm, source_cm);
  const double fp_hz = (1 - share) * SPEED_OF_SOUND_M_S / (2 * DSP_PI * m);
  return 0.5 * gain_to_db(1 + pow(fp_hz / hz, 2));
}

static void
the_bass_has_its_form(void** state)
{
  static const double shares[]       = {1.0, 0.7, 0.5, 0.366, 0.25, 0.0};
  static const float  distances_cm[] = {2, 5, 30, 100};
  (void)state;
  for (int pattern = 1; pattern < 6; ++pattern) {
    for (int k = 0; k < 4; ++k) {
      proximity_lift_params p = defaults();
      p.distance_cm           = distances_cm[k];
      p.source_cm             = k % 2 ? 13.0F : 0.0F;
      p.pattern               = (float)pattern;
      near_bass* const r      = shown(&p, 0, k == 0);
      p.pattern               = 0; // Far away
      near_bass* const away   = shown(&p, 0, k == 0);
      const double     a      = (double)p.source_cm;
      for (uint32_t i = 10; i < NEAR_N_HZ; i += 3) {
        const double hz    = (double)r->hz[i];
        const double share = shares[pattern];
        assert_near((double)(r->db[i] - away->db[i]),
                    bass_db(share, (double)distances_cm[k], a, hz), 0.06);
        assert_near((double)(r->far_db[i] - away->db[i]),
                    bass_db(share, 25, a, hz), 0.06);
        assert_near((double)(r->farthest_db[i] - away->db[i]),
                    bass_db(share, 100, a, hz), 0.06);
      }
      free(r);
      free(away);
    }
  }
}

/// 1 + k c e: the law stated in common/dynamics/detail_lift.h, for a tone
static double
lift_db(const proximity_lift_params* p, double dbfs)
{
  const double k = db_to_gain((double)p->lift_db) - 1;
  const double c = 1 / (1 + db_to_gain(2 * (dbfs - (double)p->lift_below_db)));
  const double e =
    1 / (1 + fmax(1, k) * db_to_gain(4 * ((double)p->floor_db - dbfs)));
  return gain_to_db(1 + k * c * e);
}

static void
the_lift_has_its_law(void** state)
{
  (void)state;
  for (int k = 0; k < 4; ++k) {
    proximity_lift_params p = defaults();
    p.lift_db               = k % 2 ? 12.0F : 4.0F;
    p.lift_below_db         = k / 2 ? -36.0F : -50.0F;
    p.floor_db              = k / 2 ? -70.0F : -85.0F;
    detail_law* const r     = shown(&p, 1, k == 0);
    assert_near((double)r->rest_db, 0, 0.02);
    for (uint32_t i = 0; i < DETAIL_N; i += 4) {
      assert_near((double)r->db[i], lift_db(&p, (double)r->dbfs[i]), 0.1);
    }
    free(r);
  }
}

/// A lift that reaches into loud playing is turned down as a whole, so that
/// playing keeps what it has with the lift below -36 dBFS
static void
loud_playing_keeps_its_level(void** state)
{
  proximity_lift_params p = defaults();
  (void)state;
  p.lift_db              = 12;
  p.lift_below_db        = -36;
  detail_law* const low  = shown(&p, 1, false);
  p.lift_below_db        = -14;
  detail_law* const high = shown(&p, 1, false);
  assert_true(high->rest_db < -3.0F);
  assert_near((double)picture_curve_at(high->dbfs, high->db, DETAIL_N, -16.5F),
              (double)picture_curve_at(low->dbfs, low->db, DETAIL_N, -16.5F),
              0.1);
  free(low);
  free(high);
}

/// The microphone stands to scale and moves with the hand, as the half-points
static void
handles_follow_the_hand(void** state)
{
  const chart_box box[] = {
    {20, 78, 227, 174}, {296, 78, 197, 174}, {544, 78, 196, 174}};
  proximity_lift_params p = defaults();
  picture_handle        h[2][PICTURE_MAX_HANDLES];
  (void)state;
  detail_law* const     r       = shown(&p, 1, true);
  const void* const     has[]   = {NULL, r};
  const void* const     none[]  = {NULL, NULL};
  proximity_lift_params settled = p;
  const picture_view    v       = {.values  = (const float*)&p,
                                   .settled = (const float*)&settled,
                                   .figure  = box,
                                   .result  = has,
                                   .before  = none};
  const picture* const  pic     = picture_of("proximity-lift");
  (void)pic->handles(&v, h[0]);
  p.distance_cm *= 1.01F;
  p.source_cm += 1;
  p.lift_below_db += 6;
  (void)pic->handles(&v, h[1]);
  // A centimetre across is as long as one upwards
  const double px_per_cm = h[0][1].y - h[1][1].y;
  assert_near(h[1][0].x - h[0][0].x, 0.05 * px_per_cm, 1e-3);
  assert_near(h[1][0].x - h[0][0].x, h[0][0].across_px * log(1.01) / log(100),
              0.01);
  assert_near(h[1][1].y - h[0][1].y, h[0][1].upright_px / 20, 1e-3);
  assert_near(h[1][3].x - h[0][3].x, h[0][3].across_px * 6 / 48, 1e-3);
  free(r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_bass_has_its_form),
    cmocka_unit_test(the_lift_has_its_law),
    cmocka_unit_test(loud_playing_keeps_its_level),
    cmocka_unit_test(handles_follow_the_hand),
  };
  return cmocka_run_group_tests_name("picture_proximity", tests, NULL, NULL);
}
