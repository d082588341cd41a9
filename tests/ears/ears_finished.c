// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_finished.h"

#include "ears_bands.h"
#include "ears_level.h"
#include "ears_low.h"
#include "ears_masking.h"
#include "ears_musts.h"

#include <math.h>
#include <stdio.h>

#define NOISE_BELOW_DB 56.0
#define PAUSE_FRAMES   ((size_t)(4.0 * EARS_RATE_HZ))
#define SOFTER_DB      12.0

// The heavy sound keeps 4 to 6 dB of a range of levels of 15, and in proportion
#define HEAVY_FROM_DB 15.0

#define N_AIR       4
#define AIR_ADDS_DB 3.0

enum {
  F_125,
  F_3K15,
  F_5K,
  F_6K3,
  F_8K,
  F_10K,
  F_12K5,
  F_SLOPE,
  F_CREST_IN,
  F_CREST_OUT,
  F_LEVEL,
  F_SPREAD_IN,
  F_SPREAD_OUT,
  F_LOW_RISE,
  F_LOUDER,
  F_PAUSE,
  F_INFRA,
  F_N
};

static const ears_column COLUMNS[F_N] = {
  {"125", 1},    {"3.15k", 1},    {"5k", 1},    {"6.3k", 1},     {"8k", 1},
  {"10k", 1},    {"12.5k", 1},    {"slope", 1}, {"crest in", 1}, {"out", 1},
  {"level", 1},  {"range in", 1}, {"out", 1},   {"low rise", 1}, {"louder", 1},
  {"pauses", 1}, {"<20 Hz", 1}};

static const double THIRDS_HZ[] = {125.0,  3150.0,  5000.0, 6300.0,
                                   8000.0, 10000.0, 12500.0};

static const ears_goal GOALS[] = {
  {EARS_EVERY_ROW, F_LEVEL, {-19.0, -17.0}},
  {EARS_EVERY_ROW, F_PAUSE, {-(double)INFINITY, -50.0}},
  {EARS_EVERY_ROW, F_INFRA, {-(double)INFINITY, -50.0}},
  {EARS_RHYTHM, F_125, {-(double)INFINITY, 0.0}},
  {EARS_RHYTHM, F_8K, {-40.0, (double)INFINITY}},
  {EARS_HEAVY, F_125, {-(double)INFINITY, 0.0}},
  {EARS_HEAVY, F_8K, {-35.0, -25.0}},
  {EARS_HEAVY, F_10K, {-45.0, -35.0}},
  {EARS_HEAVY, F_SLOPE, {-27.0, -18.0}},
  {EARS_HEAVY, F_LOW_RISE, {-(double)INFINITY, 3.5}},
};

/// Finished sounds of four recorded distorted guitars: least and most
typedef struct {
  const char* label;
  double      thirds[F_12K5];
  double      slope, crest;
} recorded_row;

static const recorded_row RECORDED[] = {
  {"  recorded", {-15, -9, -16, -34, -41, -56}, -33, 7},
  {"  amplifiers", {-6, 8, -2, -11, -21, -29}, -16, 18},
};

enum { A_WITH, A_ADDS = N_AIR, A_COUNT = 2 * N_AIR, A_N };

static const double      AIR_HZ[N_AIR]    = {6300.0, 8000.0, 10000.0, 12500.0};
static const ears_column AIR_COLUMNS[A_N] = {
  {"hear 6k3", 1}, {"8k", 1},  {"10k", 1},   {"12.5k", 1},  {"adds 6k3", 1},
  {"8k", 1},       {"10k", 1}, {"12.5k", 1}, {">= 3 dB", 0}};
static const ears_goal AIR_GOALS[] = {
  {EARS_RHYTHM, A_COUNT, {2.0, (double)INFINITY}},
  {EARS_LEAD, A_COUNT, {2.0, (double)INFINITY}},
  {EARS_SOLO, A_COUNT, {2.0, (double)INFINITY}},
};

/// All that one pass tells
static void
measure_sound(const ears_sound* in, const ears_sound* out, double* values)
{
  const ears_bands b = ears_bands_of(out->x, out->n);
  for (size_t i = 0; i < sizeof(THIRDS_HZ) / sizeof(THIRDS_HZ[0]); ++i) {
    values[i] = ears_third_re_middle_db(&b, THIRDS_HZ[i]);
  }
  values[F_SLOPE]      = ears_slope_db(&b);
  values[F_CREST_IN]   = ears_crest_db(in->x, in->n);
  values[F_CREST_OUT]  = ears_crest_db(out->x, out->n);
  values[F_LEVEL]      = ears_gated_db(out->x, out->n);
  values[F_SPREAD_IN]  = ears_spread_db(in->x, in->n);
  values[F_SPREAD_OUT] = ears_spread_db(out->x, out->n);
  values[F_LOW_RISE]   = ears_low_rise_db(in->x, out->x, in->n);
  values[F_INFRA]      = 10.0 * log10(b.below_20_hz / b.all);
  values[F_LOUDER]     = ears_edge_db(&b);
}

/// Noise in a pause re the playing, for a take that comes with noise
static bool
measure_pause(const ears_rig*   r,
              ears_setup        which,
              double            gain_db,
              const ears_sound* in,
              double*           values,
              failure*          f)
{
  ears_sound noisy = ears_sound_with_noise(
    in, ears_gated_db(in->x, in->n) - NOISE_BELOW_DB, PAUSE_FRAMES);
  ears_sound out = ears_play(r, which, EARS_ALL_STAGES, gain_db, &noisy, f);
  ears_sound_free(&noisy);
  if (!out.x) {
    return false;
  }
  const size_t n  = PAUSE_FRAMES / 2;
  values[F_PAUSE] = ears_rms_db(out.x + out.n - n, n) -
                    ears_gated_db(out.x, out.n - PAUSE_FRAMES);
  ears_sound_free(&out);
  return true;
}

/// From the edge of the same playing, which is in `values`, to that of softer
static bool
measure_softer(const ears_rig*   r,
               ears_setup        which,
               double            gain_db,
               const ears_sound* in,
               double*           values,
               failure*          f)
{
  ears_sound out =
    ears_play(r, which, EARS_ALL_STAGES, gain_db - SOFTER_DB, in, f);
  if (!out.x) {
    return false;
  }
  const ears_bands b = ears_bands_of(out.x, out.n);
  values[F_LOUDER] -= ears_edge_db(&b);
  ears_sound_free(&out);
  return true;
}

/// What the air shelf adds to what is heard of `with`
static bool
measure_air(const ears_rig*   r,
            ears_setup        which,
            double            gain_db,
            const ears_sound* in,
            const ears_sound* with,
            double*           air,
            failure*          f)
{
  float* const air_db = ears_control(r, which, "air-shelf", "air_db");
  if (!air_db) {
    return fail_with(f, "%s: has no air-shelf with air_db",
                     ears_setup_name(which));
  }
  const float before = *air_db;
  *air_db            = 0.0F;
  ears_sound without = ears_play(r, which, EARS_ALL_STAGES, gain_db, in, f);
  *air_db            = before;
  double third[2][EARS_N_THIRDS];
  if (!without.x) {
    return false;
  }
  ears_hard_strokes(with->x, with->x, with->n, third[0]);
  ears_hard_strokes(without.x, with->x, with->n, third[1]);
  const double spl_db = ears_spl_db(third[0]);
  air[A_COUNT]        = 0.0;
  for (int i = 0; i < N_AIR; ++i) {
    const size_t k  = ears_third_at(AIR_HZ[i]);
    air[A_WITH + i] = ears_heard_db(third[0], spl_db, k);
    air[A_ADDS + i] = fmax(air[A_WITH + i], 0.0) -
                      fmax(ears_heard_db(third[1], spl_db, k), 0.0);
    air[A_COUNT] += air[A_ADDS + i] >= AIR_ADDS_DB ? 1.0 : 0.0;
  }
  ears_sound_free(&without);
  return true;
}

static bool
measure(const ears_rig*   r,
        ears_setup        which,
        const ears_sound* in,
        double*           values,
        double*           air,
        failure*          f)
{
  const double gain_db = ears_align_db(r, which, in, f);
  if (isnan(gain_db)) {
    return false;
  }
  ears_sound out = ears_play(r, which, EARS_ALL_STAGES, gain_db, in, f);
  bool       ok  = out.x;
  if (ok) {
    measure_sound(in, &out, values);
    ok = measure_pause(r, which, gain_db, in, values, f) &&
         measure_softer(r, which, gain_db, in, values, f) &&
         measure_air(r, which, gain_db, in, &out, air, f);
  }
  ears_sound_free(&out);
  return ok;
}

static double
tenths(double db)
{
  return round(10.0 * db) / 10.0;
}

static void
print_recorded(void)
{
  for (size_t k = 0; k < sizeof(RECORDED) / sizeof(RECORDED[0]); ++k) {
    double values[F_N];
    for (int i = 0; i < F_N; ++i) {
      values[i] = i < F_12K5 ? RECORDED[k].thirds[i] : (double)NAN;
    }
    values[F_SLOPE]     = RECORDED[k].slope;
    values[F_CREST_OUT] = RECORDED[k].crest;
    ears_table_row(RECORDED[k].label, COLUMNS, F_N, values, NULL);
  }
}

bool
ears_print_finished(const ears_rig* r, const ears_sound* playing, failure* f)
{
  double values[EARS_N_SETUPS][F_N];
  double air[EARS_N_SETUPS][A_N];
  for (int k = 0; k < EARS_N_SETUPS; ++k) {
    if (!measure(r, (ears_setup)k, playing, values[k], air[k], f)) {
      return false;
    }
  }
  (void)printf("\nThrough the setups: thirds re those around 1 kHz, dB\n");
  ears_table_head("", COLUMNS, F_N);
  for (int k = 0; k < EARS_N_SETUPS; ++k) {
    ears_must musts[F_N];
    ears_musts_of(GOALS, sizeof(GOALS) / sizeof(GOALS[0]), k, musts, F_N);
    if (k == EARS_HEAVY) {
      const double share = values[k][F_SPREAD_IN] / HEAVY_FROM_DB;
      musts[F_SPREAD_OUT] =
        (ears_must){tenths(share * 4.0), tenths(share * 6.0)};
    }
    ears_table_row(ears_setup_name((ears_setup)k), COLUMNS, F_N, values[k],
                   musts);
  }
  print_recorded();
  (void)printf(
    "\nAir: dB above the masked threshold, and what the shelf adds\n");
  ears_table_head("", AIR_COLUMNS, A_N);
  for (int k = 0; k < EARS_N_SETUPS; ++k) {
    ears_must musts[A_N];
    ears_musts_of(AIR_GOALS, sizeof(AIR_GOALS) / sizeof(AIR_GOALS[0]), k, musts,
                  A_N);
    ears_table_row(ears_setup_name((ears_setup)k), AIR_COLUMNS, A_N, air[k],
                   musts);
  }
  return true;
}
