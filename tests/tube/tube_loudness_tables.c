// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Prints the tables of common/tube/tube_loudness.c, measured anew on the
/// demo's guitar: to be taken over when guitar, tubes or grid of settings
/// change.  The stage's own compensation is added back, so what stands in the
/// tables before does not matter.

#include "tests/support/aligned_take.h"

#include "common/stages/tube_stage.h"
#include "common/tube/tube_loudness.h"

#define N_DRIVE 13
#define N_BIAS  5

typedef struct {
  rig       tube;
  take_pair takes;
  double    worst_lu; ///< Difference of a take from the mean of both
} bench;

static void
load(bench* b)
{
  take_pair_load(&b->takes);
  b->tube = rig_open(&tube_stage_ops, TAKE_RATE_HZ, 1, NULL);
  rig_set(&b->tube, "quality", 0.0);
}

/// Loudness of a take through the stage above that of the dry one, in LU
static double
played_lu(bench* b, int t, double blend_pc)
{
  rig_set(&b->tube, "blend_pc", blend_pc);
  rig_run(&b->tube, b->takes.dry[t], take_wet, n_take);
  return take_lufs(take_wet) - b->takes.dry_lufs[t];
}

static void
set(bench* b, const tube_loudness_setting* s)
{
  rig_set(&b->tube, "stages", s->n_stages - 1.0);
  rig_set(&b->tube, "drive_db", s->drive_db);
  rig_set(&b->tube, "bias_pc", s->bias_pc);
  rig_set(&b->tube, "sag_pc", s->sag_pc);
  rig_set(&b->tube, "bright_db", s->bright_db);
}

/// What the tubes alone do, mean of both takes
static double
level_lu(bench* b, const tube_loudness_setting* s)
{
  set(b, s);
  const double first  = played_lu(b, 0, 100.0);
  const double second = played_lu(b, 1, 100.0);
  b->worst_lu         = fmax(b->worst_lu, 0.5 * fabs(first - second));
  return 0.5 * (first + second) + tube_loudness_lu(s);
}

/// Mean product of dry and tubed signal at equal loudness
static double
likeness(bench* b, const tube_loudness_setting* s)
{
  double dry = 0.0;
  double wet = 0.0;
  double sum = 0.0;
  set(b, s);
  tube_loudness_blend(s, 0.5, &dry, &wet);
  const double full = db_to_gain(-tube_loudness_lu(s)) / TUBE_LOUDNESS_FULL_V;
  for (int t = 0; t < TAKE_PAIR; ++t) {
    const double of_wet  = wet / full * db_to_gain(played_lu(b, t, 100.0));
    const double both_lu = played_lu(b, t, 50.0);
    sum += (db_to_gain(2.0 * both_lu) - dry * dry - of_wet * of_wet) /
           (2.0 * dry * of_wet) / TAKE_PAIR;
  }
  return sum;
}

static double
drive_at(int i)
{
  return -12.0 + 5.0 * i;
}

static void
print_levels(bench* b)
{
  for (uint32_t n = 1; n <= TUBE_STAGES_MAX; ++n) {
    for (int k = 0; k < N_BIAS; ++k) {
      (void)printf("%s", k ? " {" : "{{");
      for (int i = 0; i < N_DRIVE; ++i) {
        const tube_loudness_setting s = {
          .n_stages = n, .drive_db = drive_at(i), .bias_pc = -100.0 + 50.0 * k};
        (void)printf("%.2fF, ", level_lu(b, &s));
      }
      (void)printf("%s\n", k < N_BIAS - 1 ? "}," : "}},");
    }
  }
}

/// What a control at its end adds at bias 0
static void
print_added(bench* b, double sag_pc, double bright_db)
{
  for (uint32_t n = 1; n <= TUBE_STAGES_MAX; ++n) {
    (void)printf("{");
    for (int i = 0; i < N_DRIVE; ++i) {
      tube_loudness_setting s    = {.n_stages = n, .drive_db = drive_at(i)};
      const double          home = level_lu(b, &s);
      s.sag_pc                   = sag_pc;
      s.bright_db                = bright_db;
      (void)printf("%.2fF, ", level_lu(b, &s) - home);
    }
    (void)printf("},\n");
  }
}

static void
print_likeness(bench* b)
{
  for (uint32_t n = 1; n <= TUBE_STAGES_MAX; ++n) {
    (void)printf("{");
    for (int i = 0; i < N_DRIVE; ++i) {
      const tube_loudness_setting s = {.n_stages = n, .drive_db = drive_at(i)};
      (void)printf("%.2fF, ", likeness(b, &s));
    }
    (void)printf("},\n");
  }
}

int
main(void)
{
  static bench b;
  load(&b);
  (void)printf("level_lu\n");
  print_levels(&b);
  (void)printf("sag_lu\n");
  print_added(&b, 100.0, 0.0);
  (void)printf("bright_lu\n");
  print_added(&b, 0.0, 12.0);
  (void)printf("likeness\n");
  print_likeness(&b);
  (void)printf("A take differs from the mean by %.2f LU at most\n", b.worst_lu);
  rig_close(&b.tube);
  take_pair_unload(&b.takes);
  return 0;
}
