// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_bands.h"
#include "ears_finished.h"
#include "ears_level.h"
#include "ears_musts.h"

#include <math.h>
#include <stdio.h>

#define SINE_HZ     330.0
#define SINE_RMS    0.125892541179416740 // -18 dBFS
#define SINE_S      4.0
#define NOTE_S      2.5
#define SOFTER_DB   12.0
#define N_NOTES     4
#define FORCE       0.55
#define HARD_FORCE  0.85
#define WINDOW_S    0.1
#define ATTACK_S    0.12 // From the beginning of the sound, 0.1 s from the onset
#define NOTE_DBFS   (-18.0) // RMS of its first NOTE_FRAMES
#define NOTE_FRAMES ((size_t)(0.4 * EARS_RATE_HZ))

// As the table of single notes: from the onset on
#define HARDER_FRAMES ((size_t)(1.5 * EARS_RATE_HZ))

enum { D_THD, D_1_S, D_2_S, D_SOFT_1_S, D_SOFT_2_S, D_HARDER, D_N };

static const ears_column COLUMNS[D_N] = {{"THD, %", 1}, {"1 s", 1},
                                         {"2 s", 1},    {"soft 1 s", 1},
                                         {"2 s", 1},    {"harder", 1}};

static const ears_goal GOALS[] = {
  {EARS_RHYTHM, D_THD, {5.0, 12.0}},
  {EARS_RHYTHM, D_HARDER, {3.0, (double)INFINITY}},
  {EARS_HEAVY, D_THD, {25.0, 35.0}},
  {EARS_LEAD, D_THD, {15.0, 25.0}},
  {EARS_SOLO, D_THD, {30.0, 40.0}},
  {EARS_SOLO, D_1_S, {-1.5, (double)INFINITY}},
  {EARS_SOLO, D_2_S, {-4.0, (double)INFINITY}},
};

// A single note of a hollow-body electric, and recorded distorted guitars
static const double REAL_NOTE[D_N] = {(double)NAN, -7.1,        -19.0,
                                      (double)NAN, (double)NAN, (double)NAN};
static const double RECORDED[D_N]  = {(double)NAN, -2.3,        -5.3,
                                      (double)NAN, (double)NAN, (double)NAN};

// In the middle of the neck
static const take_note NOTES[N_NOTES] = {{2, 7, FORCE},
                                         {3, 5, FORCE},
                                         {3, 9, FORCE},
                                         {4, 5, FORCE}};

static bool
measure_thd(const ears_rig* r, ears_setup which, double* values, failure* f)
{
  ears_sound sine = ears_sound_sine(SINE_HZ, SINE_RMS, SINE_S);
  ears_sound out =
    ears_play(r, which, ears_stages_before_speaker(r, which), 0.0, &sine, f);
  ears_sound_free(&sine);
  if (!out.x) {
    return false;
  }
  values[D_THD] = ears_thd_pc(out.x, out.n, SINE_HZ);
  ears_sound_free(&out);
  return true;
}

/// Level around 1 and 2 s re the first 200 ms behind the pick's attack
static void
add_hold(const ears_sound* s, double* hold)
{
  const size_t size  = (size_t)(WINDOW_S * EARS_RATE_HZ);
  const size_t first = (size_t)(ATTACK_S * EARS_RATE_HZ);
  for (int i = 0; i < 2; ++i) {
    const size_t middle = (size_t)((i + 1) * EARS_RATE_HZ);
    hold[i] += (ears_rms_db(s->x + middle - size / 2, size) -
                ears_rms_db(s->x + first, 2 * size)) /
               N_NOTES;
  }
}

/// Of notes at NOTE_DBFS, and of softer ones
static bool
measure_hold(const ears_rig*   r,
             ears_setup        which,
             const ears_sound* notes,
             double*           values,
             failure*          f)
{
  for (int i = D_1_S; i <= D_SOFT_2_S; ++i) {
    values[i] = 0.0;
  }
  for (size_t k = 0; k < N_NOTES; ++k) {
    const double gain_db = NOTE_DBFS - ears_gated_db(notes[k].x, NOTE_FRAMES);
    for (int soft = 0; soft < 2; ++soft) {
      ears_sound out = ears_play(r, which, EARS_ALL_STAGES,
                                 gain_db - soft * SOFTER_DB, &notes[k], f);
      if (!out.x) {
        return false;
      }
      add_hold(&out, &values[soft ? D_SOFT_1_S : D_1_S]);
      ears_sound_free(&out);
    }
  }
  return true;
}

/// The same note, softer by SOFTER_DB of level
static ears_sound
softer(take_note note)
{
  const ears_sound hard     = ears_sound_note(note, NOTE_S, NULL);
  const double     level_db = ears_rms_db(hard.x, NOTE_FRAMES) - SOFTER_DB;
  double           most     = note.force;
  double           least    = 0.0;
  ears_sound       s        = hard;
  for (int i = 0; i < 8; ++i) {
    note.force = 0.5 * (least + most);
    ears_sound_free(&s);
    s = ears_sound_note(note, NOTE_S, NULL);
    if (ears_rms_db(s.x, NOTE_FRAMES) < level_db) {
      least = note.force;
    } else {
      most = note.force;
    }
  }
  return s;
}

/// What 2 to 5 kHz gain when the hand plays harder by SOFTER_DB, the mean of
/// both strengths being NOTE_DBFS
static bool
measure_harder(const ears_rig* r, ears_setup which, double* values, failure* f)
{
  values[D_HARDER] = 0.0;
  for (size_t k = 0; k < N_NOTES; ++k) {
    const take_note note  = {NOTES[k].string, NOTES[k].fret, HARD_FORCE};
    ears_sound   played[] = {softer(note), ears_sound_note(note, NOTE_S, NULL)};
    const double gain_db =
      NOTE_DBFS + 0.5 * SOFTER_DB - ears_rms_db(played[1].x, NOTE_FRAMES);
    bool ok = true;
    for (int hard = 0; ok && hard < 2; ++hard) {
      ears_sound out =
        ears_play(r, which, EARS_ALL_STAGES, gain_db, &played[hard], f);
      ok = out.x;
      if (ok) {
        const ears_bands b = ears_bands_of(out.x, HARDER_FRAMES);
        values[D_HARDER] += (hard ? 1.0 : -1.0) * ears_edge_db(&b) / N_NOTES;
      }
      ears_sound_free(&out);
    }
    ears_sound_free(&played[0]);
    ears_sound_free(&played[1]);
    if (!ok) {
      return false;
    }
  }
  return true;
}

static bool
print_setup(const ears_rig*   r,
            ears_setup        which,
            const ears_sound* notes,
            failure*          f)
{
  double    values[D_N];
  ears_must musts[D_N];
  if (!measure_thd(r, which, values, f) ||
      !measure_hold(r, which, notes, values, f) ||
      !measure_harder(r, which, values, f)) {
    return false;
  }
  ears_musts_of(GOALS, sizeof(GOALS) / sizeof(GOALS[0]), which, musts, D_N);
  ears_table_row(ears_setup_name(which), COLUMNS, D_N, values, musts);
  return true;
}

bool
ears_print_drive(const ears_rig* r, failure* f)
{
  ears_sound notes[N_NOTES];
  double     dry[D_N] = {(double)NAN, 0.0,         0.0,
                         (double)NAN, (double)NAN, (double)NAN};
  for (size_t k = 0; k < N_NOTES; ++k) {
    notes[k] = ears_sound_note(NOTES[k], NOTE_S, NULL);
    add_hold(&notes[k], &dry[D_1_S]);
  }
  (void)printf(
    "\n== drive\nTHD of %.0f Hz at -18 dBFS in front of the "
    "loudspeaker; level of mf notes "
    "of the model after 1 and 2 s re that from 0.1 to 0.3 s, "
    "dB,\nplayed at %.0f dBFS RMS and %.0f dB softer; what 2 to 5 kHz "
    "gain on all when the hand plays so much harder\n",
    SINE_HZ, NOTE_DBFS, SOFTER_DB);
  ears_table_head("", COLUMNS, D_N);
  ears_table_row("string alone", COLUMNS, D_N, dry, NULL);
  ears_table_row("  real note", COLUMNS, D_N, REAL_NOTE, NULL);
  ears_table_row("  recorded", COLUMNS, D_N, RECORDED, NULL);
  bool ok = true;
  for (int k = 0; ok && k < EARS_N_SETUPS; ++k) {
    ok = print_setup(r, (ears_setup)k, notes, f);
  }
  for (size_t k = 0; k < N_NOTES; ++k) {
    ears_sound_free(&notes[k]);
  }
  return ok;
}
