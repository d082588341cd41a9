// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The pictures of the bus leveler and the two sends show what the stages
/// promise: closed forms, and the stages measured another way

#include "picture_rig.h"

#include "common/core/air.h"
#include "common/plate/plate_decay.h"
#include "common/stages/bus_leveler.h"
#include "common/stages/plate_send.h"
#include "plugins/window/pictures/bands.h"
#include "plugins/window/pictures/room_sound.h"

#include <string.h>

/// Computes a part from the inputs that a window would hand it; free() it
static void*
shown(const stage_ops* ops,
      const char*      stem,
      uint32_t         part,
      const void*      values,
      bool             is_coarse)
{
  const picture_view v = {.values = values, .settled = values};
  float              inputs[PICTURE_MAX_INPUTS];
  (void)picture_of(stem)->parts[part].inputs(&v, inputs);
  return compute(stem, ops, part, inputs, is_coarse);
}

// ---------------------------------------------------------------------------
// Bus leveler

enum { N_LEVELS = 49, N_STEPS = 151 };

/// The cell lit by the output: n = s (y / T)^p, gain 1 / (1 + n), 1 dB at T
static double
law_gain_db(double in_db, double threshold_db, double p)
{
  double lo = in_db - 60;
  double hi = in_db;
  for (int i = 0; i < 60; ++i) { // Of the output
    const double y = 0.5 * (lo + hi);
    const double n = (db_to_gain(1) - 1) * db_to_gain(p * (y - threshold_db));
    if (y + gain_to_db(1 + n) > in_db) {
      hi = y;
    } else {
      lo = y;
    }
  }
  return lo - in_db;
}

static void
the_law_is_that_of_a_cell(void** state)
{
  bus_leveler_params p;
  (void)state;
  defaults_of(&bus_leveler_ops, (float*)&p);
  for (int k = 0; k < 4; ++k) {
    p.ratio        = k % 2 ? 4.0F : 2.5F;
    p.threshold_db = k / 2 ? -38.0F : -14.0F;
    for (int coarse = 0; coarse < 2; ++coarse) {
      float* const r =
        shown(&bus_leveler_ops, "bus-leveler", 0, &p, coarse > 0);
      for (uint32_t i = 0; i < N_LEVELS; i += 4) {
        const double want = law_gain_db((double)r[i], (double)p.threshold_db,
                                        (double)p.ratio - 1);
        assert_near((double)r[N_LEVELS + i], want, 0.05);
      }
      free(r);
    }
  }
}

/// What is heard with half of it blended in, by the sum of the two
static void
a_blend_shows(void** state)
{
  bus_leveler_params p;
  (void)state;
  defaults_of(&bus_leveler_ops, (float*)&p);
  p.makeup       = 1;
  p.makeup_db    = 6;
  p.blend_pc     = 50;
  float* const r = shown(&bus_leveler_ops, "bus-leveler", 0, &p, false);
  const double m = db_to_gain(6);
  for (uint32_t i = 0; i < N_LEVELS; ++i) {
    const double g =
      db_to_gain(law_gain_db((double)r[i], (double)p.threshold_db, 2));
    const double want = gain_to_db((1 + g * m) / (1 + m));
    assert_near((double)r[N_LEVELS + i], want, 0.05);
  }
  free(r);
}

/// dn/dt = -(a n + b n^2) once the light is out, without a memory:
/// n = a n0 e^-at / (a + b n0 (1 - e^-at))
static void
the_cell_lets_go_by_its_equation(void** state)
{
  const photocell_rates rates = photocell_default_rates;
  bus_leveler_params    p;
  (void)state;
  defaults_of(&bus_leveler_ops, (float*)&p);
  p.memory       = 0;
  p.speed_pc     = 50;
  float* const r = shown(&bus_leveler_ops, "bus-leveler", 1, &p, false);
  const float* t = r;
  const float* y = r + N_STEPS;
  const double a = 0.5 * rates.a_max;
  const double b = 0.5 * rates.b;
  // The detector's 5 ms are over after 100
  const uint32_t first = 5;
  const double   n0    = db_to_gain(-(double)y[first]) - 1;
  assert_true(n0 > 0.1);
  for (uint32_t i = first; i < 60; ++i) {
    const double left = exp(-a * (double)(t[i] - t[first]));
    const double n    = a * n0 * left / (a + b * n0 * (1 - left));
    assert_near((double)y[i], -gain_to_db(1 + n), 0.003);
  }
  // Half of it and a tenth of it, at the times written
  const float* const times = r + (size_t)3 * N_STEPS;
  assert_near((double)picture_curve_at(t, y, N_STEPS, times[0]),
              0.5 * (double)y[0], 0.01);
  assert_near((double)picture_curve_at(t, y, N_STEPS, times[1]),
              0.1 * (double)y[0], 0.01);
  free(r);
}

static void
long_playing_slows_the_cell(void** state)
{
  bus_leveler_params p;
  (void)state;
  defaults_of(&bus_leveler_ops, (float*)&p);
  float* const r = shown(&bus_leveler_ops, "bus-leveler", 1, &p, false);
  // As deep at the beginning, deeper after half a second
  assert_near((double)r[N_STEPS], (double)r[2 * N_STEPS], 0.05);
  assert_true(r[2 * N_STEPS + 25] < 1.3F * r[N_STEPS + 25]);
  free(r);
}

// ---------------------------------------------------------------------------
// Falls of bands

/// Tones that decay by a known time after a known silence: noise would bring
/// chance into it
static void
bands_read_a_decay(void** state)
{
  enum { N = 48000 };
  static const double hz[] = {250, 1000, 8000};
  static float        x[N];
  static band_fall    f;
  const double        decay_s = 0.4;
  const double        wait_s  = 0.05;
  (void)state;
  for (int k = 0; k < 3; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      const double t = i / PROBE_RATE_HZ - wait_s;
      const double y = pow(10, -3 * t / decay_s) * sin(2 * DSP_PI * hz[k] * t);
      x[i]           = t < 0 ? 0.0F : (float)y;
    }
    band_measure(x, N, hz[k], &f);
    assert_near((double)f.decay_s, decay_s, 0.004);
    const double t20 = (double)band_time_of(&f, f.db[0] - 20);
    const double t60 = (double)band_time_of(&f, f.db[0] - 60);
    assert_near(t20, wait_s + decay_s / 3, 0.004);
    assert_near(t60, wait_s + decay_s, 0.004);
    // Cut off at half of its decay, it goes straight on
    band_measure(x, (uint32_t)(0.25 * PROBE_RATE_HZ), hz[k], &f);
    assert_near((double)band_time_of(&f, f.db[0] - 60), wait_s + decay_s, 0.02);
  }
  assert_true(band_time_of(&f, f.db[0] + 1) == 0.0F);
  memset(x, 0, sizeof(x));
  band_measure(x, N, 1000, &f);
  assert_true(isnan(f.decay_s) && isnan(band_time_of(&f, -20)));
}

// ---------------------------------------------------------------------------
// Plate

enum { N_BANDS = 23, BAND_1K = 12 };

static void
the_plate_decays_as_set(void** state)
{
  plate_send_params p;
  (void)state;
  defaults_of(&plate_send_ops, (float*)&p);
  for (int quality = 0; quality < 2; ++quality) {
    for (int coarse = 0; coarse < 2; ++coarse) {
      p.quality      = (float)quality;
      float* const r = shown(&plate_send_ops, "plate-send", 0, &p, coarse > 0);
      const plate_decay d = {0.01 * (double)(p.decay_s * p.low_decay_pc),
                             (double)p.decay_s,
                             0.01 * (double)(p.decay_s * p.high_decay_pc)};
      for (uint32_t i = 3; i < N_BANDS - 1; ++i) { // 125 Hz to 8 kHz
        const double want =
          PLATE_DECAY_NEPERS / plate_decay_loss(&d, (double)r[i]);
        assert_near((double)r[N_BANDS + i], want, 0.10 * want);
      }
      free(r);
    }
  }
}

static void
the_tail_begins_with_the_predelay(void** state)
{
  plate_send_params p;
  (void)state;
  defaults_of(&plate_send_ops, (float*)&p);
  p.predelay_ms    = 0;
  float* const now = shown(&plate_send_ops, "plate-send", 1, &p, false);
  p.predelay_ms    = 120;
  float* const old = shown(&plate_send_ops, "plate-send", 1, &p, false);
  for (uint32_t k = 1; k <= 3; ++k) {
    for (uint32_t i = 5; i < N_BANDS - 3; ++i) {
      const float shift = old[k * N_BANDS + i] - now[k * N_BANDS + i];
      assert_near((double)shift, 0.120, 0.01);
    }
  }
  // From -20 to -60 dB is two thirds of the decay
  const float fall = now[3 * N_BANDS + BAND_1K] - now[N_BANDS + BAND_1K];
  assert_near((double)fall, 2.0 / 3.0 * (double)p.decay_s, 0.1);
  free(now);
  free(old);
}

// ---------------------------------------------------------------------------
// Room

static void
the_room_rings_by_its_law(void** state)
{
  static const double hz[] = {250, 1000, 4000};
  room_send_params    p;
  (void)state;
  defaults_of(&room_send_ops, (float*)&p);
  for (int kind = 0; kind < 3; ++kind) {
    p.room                = (float)kind;
    p.volume_m3           = kind == 1 ? 200.0F : 67.0F;
    p.decay_pc            = kind == 2 ? 60.0F : 100.0F;
    room_rings* const r   = shown(&room_send_ops, "room-send", 0, &p, false);
    const decay_law   law = room_stretch(
        room_decay((room_kind)kind),
        cbrt((double)p.volume_m3 / ROOM_VOLUME_M3) * 0.01 * (double)p.decay_pc);
    for (int i = 0; i < 3; ++i) {
      const double want = decay_law_s(&law, hz[i]);
      assert_near((double)r->decay_s[i], want, 0.12 * want);
    }
    free(r);
  }
}

/// Path over the nearest of the six walls, from mirrored coordinates
static double
shortest_path_m(const room_layout* l)
{
  const point_m s        = l->source[0];
  const point_m m        = l->microphone[0];
  const double  d[3]     = {m.x - s.x, m.y - s.y, m.z - s.z};
  const double  near_[3] = {m.x + s.x, m.y + s.y, m.z + s.z};
  const double  far_[3] = {2 * l->size.x - m.x - s.x, 2 * l->size.y - m.y - s.y,
                           2 * l->size.z - m.z - s.z};
  double        least   = INFINITY;
  for (int i = 0; i < 3; ++i) {
    const double others = d[0] * d[0] + d[1] * d[1] + d[2] * d[2] - d[i] * d[i];
    least               = fmin(least, sqrt(others + near_[i] * near_[i]));
    least               = fmin(least, sqrt(others + far_[i] * far_[i]));
  }
  return least;
}

/// In the largest room the first reflection stands alone for some ms
static void
the_first_reflection_comes_by_geometry(void** state)
{
  enum { N = 9600, WINDOW = 192 };
  static float     in[2][N], out[2][N];
  room_send_params p;
  (void)state;
  defaults_of(&room_send_ops, (float*)&p);
  p.volume_m3            = 400;
  p.distance_m           = 3;
  p.early_db             = 3;
  p.wet_db               = -2;
  p.predelay_ms          = 10;
  p.low_cut_hz           = 20;
  p.high_cut_hz          = 16000;
  p.dry                  = 0;
  room_arrivals* const r = shown(&room_send_ops, "room-send", 1, &p, false);
  const room_layout    l = room_layout_of(400, 3, (double)p.spacing_m);
  const double         path_m = shortest_path_m(&l);
  const double         want_ms =
    10 + 1e3 * (path_m - l.distance_m) / SPEED_OF_SOUND_M_S;
  assert_near((double)r->image_ms[0], want_ms, 0.02);
  assert_true(r->image_order[0] == 1.0F);

  // What the stage plays there, at 1 kHz
  probe* const y = probe_new(&room_send_ops, 2, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  in[0][0]                  = 1;
  const float* const from[] = {in[0], in[1]};
  float* const       to[]   = {out[0], out[1]};
  assert_true(probe_play(y, from, to, N));
  const uint32_t at = (uint32_t)lround(48 * want_ms) - 8;
  assert_near((double)r->image_db[0],
              probe_spectrum_db(out[0] + at, WINDOW, 1000), 0.5);
  probe_free(y);
  free(r);
}

/// Images arrive at 4 pi c^3 t^2 / V with an energy of (d / ct)^2 each, half of
/// it from the left amplifier: common/room/room_late.h
static void
the_reverberation_has_its_energy(void** state)
{
  room_send_params p;
  (void)state;
  defaults_of(&room_send_ops, (float*)&p);
  double mean_db = 0;
  int    count   = 0;
  for (int k = 0; k < 8; ++k) { // Many rooms, for one has its own modes
    p.room                 = (float)(k % 3);
    p.volume_m3            = 45.0F + 25.0F * (float)k;
    p.distance_m           = 1.2F;
    p.late_db              = -3;
    room_arrivals* const r = shown(&room_send_ops, "room-send", 1, &p, false);
    const double         v = (double)p.volume_m3;
    const decay_law      law =
      room_stretch(room_decay((room_kind)p.room), cbrt(v / ROOM_VOLUME_M3));
    const double decay_s = decay_law_s(&law, 1000);
    for (uint32_t i = r->n_mixed + 10; i < r->n_ms; ++i) {
      const double t_s    = 1e-3 * (double)r->ms[i] + 1.2 / SPEED_OF_SOUND_M_S;
      const double energy = 1e-3 * 0.5 * 1.2 * 1.2 * 4 * DSP_PI *
                            SPEED_OF_SOUND_M_S / v *
                            pow(10, -6 * t_s / decay_s);
      mean_db += (double)r->late_db[i] - (10 * log10(energy) - 3);
      ++count;
    }
    free(r);
  }
  print_message("# late: %.2f dB off\n", mean_db / count);
  assert_near(mean_db / count, 0, 1.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_law_is_that_of_a_cell),
    cmocka_unit_test(a_blend_shows),
    cmocka_unit_test(the_cell_lets_go_by_its_equation),
    cmocka_unit_test(long_playing_slows_the_cell),
    cmocka_unit_test(bands_read_a_decay),
    cmocka_unit_test(the_plate_decays_as_set),
    cmocka_unit_test(the_tail_begins_with_the_predelay),
    cmocka_unit_test(the_room_rings_by_its_law),
    cmocka_unit_test(the_first_reflection_comes_by_geometry),
    cmocka_unit_test(the_reverberation_has_its_energy),
  };
  return cmocka_run_group_tests_name("picture_sends", tests, NULL, NULL);
}
