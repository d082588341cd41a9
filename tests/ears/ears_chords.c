// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_bands.h"
#include "ears_finished.h"
#include "ears_level.h"
#include "ears_musts.h"

#include <math.h>
#include <stdio.h>

// A chord that is held fizzes where a stroke does not: nothing new is picked
#define CHORD_S    4.0
#define FROM_S     0.7
#define TO_S       3.7
#define STRUM_S    0.012 // From string to string
#define FORCE      0.75
#define CHORD_DBFS (-18.0)
#define N_CHORDS   2
#define N_STRINGS  6
#define DAMPED     (-1)

enum { C_6K3, C_8K, C_10K, C_N };

static const double      THIRDS_HZ[C_N] = {6300.0, 8000.0, 10000.0};
static const ears_column COLUMNS[C_N]   = {{"6.3k", 1}, {"8k", 1}, {"10k", 1}};

// As held chords of recorded distorted guitars
static const ears_goal GOALS[] = {
  {EARS_EVERY_ROW, C_6K3, {-(double)INFINITY, -11.0}},
  {EARS_EVERY_ROW, C_8K, {-(double)INFINITY, -21.0}},
};

// E minor on open strings; a fifth with its octave on B
static const int FRETS[N_CHORDS][N_STRINGS] = {
  {0, 2, 2, 0, 0, 0},
  {DAMPED, 2, 4, 4, DAMPED, DAMPED},
};

static ears_sound
chord_of(const int* frets)
{
  ears_sound s = ears_sound_new((size_t)(CHORD_S * EARS_RATE_HZ));
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    if (frets[k] == DAMPED) {
      continue;
    }
    const take_note which = {k, (uint32_t)frets[k], FORCE};
    ears_sound      note  = ears_sound_note(which, CHORD_S, NULL);
    const size_t    late  = (size_t)(k * STRUM_S * EARS_RATE_HZ);
    for (size_t i = late; i < s.n; ++i) {
      s.x[i] += note.x[i - late];
    }
    ears_sound_free(&note);
  }
  return s;
}

static bool
measure(const ears_rig*   r,
        ears_setup        which,
        const ears_sound* chords,
        double*           values,
        failure*          f)
{
  for (int i = 0; i < C_N; ++i) {
    values[i] = -(double)INFINITY;
  }
  for (int k = 0; k < N_CHORDS; ++k) {
    const double gain_db = CHORD_DBFS - ears_gated_db(chords[k].x, chords[k].n);
    ears_sound   out =
      ears_play(r, which, EARS_ALL_STAGES, gain_db, &chords[k], f);
    if (!out.x) {
      return false;
    }
    const size_t     from = (size_t)(FROM_S * EARS_RATE_HZ);
    const size_t     to   = (size_t)(TO_S * EARS_RATE_HZ);
    const ears_bands b    = ears_bands_of(out.x + from, to - from);
    for (int i = 0; i < C_N; ++i) {
      values[i] = fmax(values[i], ears_third_re_middle_db(&b, THIRDS_HZ[i]));
    }
    ears_sound_free(&out);
  }
  return true;
}

bool
ears_print_chords(const ears_rig* r, failure* f)
{
  ears_sound chords[N_CHORDS];
  for (int k = 0; k < N_CHORDS; ++k) {
    chords[k] = chord_of(FRETS[k]);
  }
  (void)printf("\n== held chords\nThirds re those around 1 kHz, dB, from %.1f "
               "to %.1f s: the brighter of an open and a closed chord of the "
               "model\n",
               FROM_S, TO_S);
  ears_table_head("", COLUMNS, C_N);
  bool ok = true;
  for (int k = 0; ok && k < EARS_CLEAN; ++k) {
    double    values[C_N];
    ears_must musts[C_N];
    ok = measure(r, (ears_setup)k, chords, values, f);
    if (ok) {
      ears_musts_of(GOALS, sizeof(GOALS) / sizeof(GOALS[0]), k, musts, C_N);
      ears_table_row(ears_setup_name((ears_setup)k), COLUMNS, C_N, values,
                     musts);
    }
  }
  for (int k = 0; k < N_CHORDS; ++k) {
    ears_sound_free(&chords[k]);
  }
  return ok;
}
