// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fits the constants of common/speaker/breakup_loudness.c to the demo's
/// guitar and prints them with what is left: to be taken over when guitar or
/// loudspeaker change.
///
/// Renders N_PLAYED random settings, half of them on each take, adds the
/// stage's own compensation back, and finds the law with the least mean square
/// of the rest by the simplex of Nelder and Mead (Computer Journal 7, 1965;
/// from memory).  What the box does to the loudness is one more unknown: a
/// constant.

#include "tests/support/aligned_take.h"

#include "common/core/fastmath.h"
#include "common/speaker/breakup_follower.h"
#include "common/speaker/breakup_loudness.h"
#include "common/stages/speaker_breakup.h"

#define N_PLAYED 800
#define N_FIT    7 // The law's six constants and the box
#define N_STEPS  4000

// Beyond, all playing is above the bend, and nothing more can be told of it
#define MAX_BEND 100.0

typedef struct {
  breakup_settings settings;
  double           lu; ///< Of the breakup and the box, measured
} played;

static played all[N_PLAYED];

static take_pair takes;
static uint64_t  seed = 1;

/// From 0 to 1 (D. Knuth's linear congruential generator MMIX)
static double
dice(void)
{
  seed = 6364136223846793005U * seed + 1442695040888963407U;
  return (double)(seed >> 40U) / (double)(1U << 24U);
}

static int
by_size(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Middles of the eighths of the energy of the playing, above its RMS
static void
find_eighths(breakup_law* law)
{
  const uint32_t          hop   = TAKE_RATE_HZ / 100;
  const uint32_t          n_all = TAKE_PAIR * (n_take / hop);
  double*                 level = calloc(n_all, sizeof(double));
  uint32_t                n     = 0;
  static breakup_follower f;
  assert_non_null(level);
  breakup_follower_set(&f, 3.0, 150.0, TAKE_RATE_HZ);
  for (int t = 0; t < TAKE_PAIR; ++t) {
    breakup_follower_reset(&f);
    for (uint32_t at = 0; at + hop <= n_take; at += hop) {
      for (uint32_t i = 0; i < hop; i += CONTROL_FRAMES) {
        const float* const x = takes.dry[t] + at + i;
        float              hard[CONTROL_FRAMES];
        breakup_follower_process(
          &f, &x, hard, 1, hop - i < CONTROL_FRAMES ? hop - i : CONTROL_FRAMES);
      }
      const double db = f.level / (2.0 * (double)OCTAVES_PER_DB);
      if (db > ALIGN_RMS_DBFS - 20.0) {
        level[n++] = db - ALIGN_RMS_DBFS;
      }
    }
  }
  qsort(level, n, sizeof(double), by_size);
  double all_of_it = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    all_of_it += db_to_gain(2.0 * level[i]);
  }
  double sum = 0.0;
  for (uint32_t i = 0, k = 0; k < BREAKUP_EIGHTHS && i < n; ++i) {
    sum += db_to_gain(2.0 * level[i]);
    if (sum >= (k + 0.5) / BREAKUP_EIGHTHS * all_of_it) {
      law->eighth[k++] = (playing_part){level[i], 1.0 / BREAKUP_EIGHTHS};
    }
  }
  free(level);
}

static void
play_one(rig* r, played* p, int t)
{
  p->settings = (breakup_settings){.drive_db   = -24.0 + 48.0 * dice(),
                                   .follow     = dice(),
                                   .breakup_db = 36.0 * dice(),
                                   .mix        = dice(),
                                   .feedback   = 0.95 * dice(),
                                   .squeeze_db = 12.0 * dice()};
  *rig_value(r, "drive_db")    = (float)p->settings.drive_db;
  *rig_value(r, "follow_pc")   = (float)(100.0 * p->settings.follow);
  *rig_value(r, "breakup_db")  = (float)p->settings.breakup_db;
  *rig_value(r, "mix_pc")      = (float)(100.0 * p->settings.mix);
  *rig_value(r, "feedback_pc") = (float)(100.0 * p->settings.feedback);
  rig_set(r, "squeeze_db", p->settings.squeeze_db);
  rig_run(r, takes.dry[t], take_wet, n_take);
  p->lu =
    take_lufs(take_wet) - takes.dry_lufs[t] + breakup_loudness_lu(&p->settings);
}

static breakup_law
law_of(const breakup_law* eighths, const double* x)
{
  breakup_law law = *eighths;
  law.bend        = exp(x[0]);
  law.band        = 1.0 / (1.0 + exp(-x[1])); // A share
  law.band_bend   = exp(fmin(x[2], log(MAX_BEND)));
  law.band_power  = exp(x[3]);
  law.grit        = exp(x[4]);
  law.grit_corner = exp(x[5]);
  return law;
}

static double
left_lu(const breakup_law* law, const double* x, const played* p)
{
  return p->lu - breakup_loudness_by(law, &p->settings) - x[6];
}

static double
mean_square(const breakup_law* eighths, const double* x)
{
  const breakup_law law = law_of(eighths, x);
  double            sum = 0.0;
  for (int i = 0; i < N_PLAYED; ++i) {
    const double lu = left_lu(&law, x, &all[i]);
    sum += lu * lu / N_PLAYED;
  }
  return isfinite(sum) ? sum : 1e9;
}

typedef struct {
  double x[N_FIT], y;
} corner;

static corner
corner_at(const breakup_law* eighths,
          const corner*      middle,
          const corner*      c,
          double             by)
{
  corner to;
  for (int i = 0; i < N_FIT; ++i) {
    to.x[i] = middle->x[i] + by * (c->x[i] - middle->x[i]);
  }
  to.y = mean_square(eighths, to.x);
  return to;
}

static int
by_y(const void* a, const void* b)
{
  const double x = ((const corner*)a)->y;
  const double y = ((const corner*)b)->y;
  return (x > y) - (x < y);
}

static corner
middle_of(const corner* c)
{
  corner m = {.y = 0.0};
  for (int k = 0; k < N_FIT; ++k) {
    for (int i = 0; i < N_FIT; ++i) {
      m.x[i] += c[k].x[i] / N_FIT;
    }
  }
  return m;
}

/// From the law in use
static corner
fit(const breakup_law* eighths)
{
  corner                   c[N_FIT + 1];
  const breakup_law* const l            = &breakup_loudness_law;
  const double             start[N_FIT] = {log(l->bend),
                                           log(l->band / (1.0 - l->band)),
                                           log(l->band_bend),
                                           log(l->band_power),
                                           log(l->grit),
                                           log(l->grit_corner),
                                           0.0};
  for (int k = 0; k <= N_FIT; ++k) {
    memcpy(c[k].x, start, sizeof(start));
    if (k < N_FIT) {
      c[k].x[k] += 0.5;
    }
    c[k].y = mean_square(eighths, c[k].x);
  }
  for (int step = 0; step < N_STEPS; ++step) {
    qsort(c, N_FIT + 1, sizeof(corner), by_y);
    const corner  m     = middle_of(c);
    corner* const worst = &c[N_FIT];
    const corner  back  = corner_at(eighths, &m, worst, -1.0);
    if (back.y < c[0].y) {
      const corner far = corner_at(eighths, &m, worst, -2.0);
      *worst           = far.y < back.y ? far : back;
    } else if (back.y < c[N_FIT - 1].y) {
      *worst = back;
    } else {
      const corner in = corner_at(eighths, &m, worst, 0.5);
      if (in.y < worst->y) {
        *worst = in;
      } else {
        for (int k = 1; k <= N_FIT; ++k) {
          c[k] = corner_at(eighths, &c[0], &c[k], 0.5);
        }
      }
    }
  }
  qsort(c, N_FIT + 1, sizeof(corner), by_y);
  return c[0];
}

static void
print_left(const char* what, const breakup_law* law, const double* x)
{
  double off[N_PLAYED];
  double sum = 0.0;
  for (int i = 0; i < N_PLAYED; ++i) {
    off[i] = fabs(left_lu(law, x, &all[i]));
    sum += off[i] * off[i] / N_PLAYED;
  }
  qsort(off, N_PLAYED, sizeof(double), by_size);
  (void)printf("%s: %.2f LU RMS, 99 %% within %.2f LU, worst %.2f LU\n", what,
               sqrt(sum), off[N_PLAYED * 99 / 100], off[N_PLAYED - 1]);
}

int
main(void)
{
  take_pair_load(&takes);
  rig r = rig_open(&speaker_breakup_ops, TAKE_RATE_HZ, 1, NULL);
  rig_set(&r, "quality", 0.0);
  for (int i = 0; i < N_PLAYED; ++i) {
    play_one(&r, &all[i], i % TAKE_PAIR);
  }

  breakup_law eighths = {.bend = 0.0};
  find_eighths(&eighths);
  double box = 0.0;
  for (int i = 0; i < N_PLAYED; ++i) {
    const double none[N_FIT] = {0};
    box += left_lu(&breakup_loudness_law, none, &all[i]) / N_PLAYED;
  }
  const double now[N_FIT] = {0, 0, 0, 0, 0, 0, box};
  print_left("as it is", &breakup_loudness_law, now);
  const corner      best = fit(&eighths);
  const breakup_law law  = law_of(&eighths, best.x);
  print_left("fitted", &law, best.x);
  for (int k = 0; k < BREAKUP_EIGHTHS; ++k) {
    (void)printf("{%.1f, 0.125},\n", law.eighth[k].level_db);
  }
  (void)printf(".bend = %.4g, .band = %.4g, .band_bend = %.4g, .band_power = "
               "%.4g, .grit = %.4g, .grit_corner = %.4g\nWith the box and the "
               "stage's LEVEL_DB %+.2f LU\n",
               law.bend, law.band, law.band_bend, law.band_power, law.grit,
               law.grit_corner, best.x[6]);
  rig_close(&r);
  take_pair_unload(&takes);
  return 0;
}
