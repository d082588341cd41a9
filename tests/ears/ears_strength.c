// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_strength.h"

#include "ears_bands.h"
#include "ears_level.h"
#include "ears_sound.h"

#include <math.h>

#define NOTE_S 3.3
#define FADE_S 0.05

const unsigned ears_frets[EARS_N_FRETS] = {2, 7};

const ears_range ears_t60_ranges[EARS_N_T60] = {{60.0, 250.0},
                                                {400.0, 1200.0},
                                                {1500.0, 2500.0},
                                                {3500.0, 5500.0},
                                                {5500.0, 9000.0}};

/// All notes, as they are added up
typedef struct {
  ears_strength of;
  double        ripple[EARS_MAX_OF_NOTES];
  size_t        n_ripple;
  double        t60[EARS_N_T60][EARS_MAX_OF_NOTES];
  size_t        n_t60[EARS_N_T60];
} notes;

static void
add_tone(notes* a, ears_sound note, const ears_sound* noise)
{
  const size_t n    = (size_t)(EARS_TONE_S * EARS_RATE_HZ);
  const size_t fade = (size_t)(FADE_S * EARS_RATE_HZ);
  for (size_t i = 0; i < fade; ++i) {
    note.x[n - 1 - i] *= (float)i / (float)fade;
  }
  static const double HZ[]  = {4000.0, 5000.0, 6300.0, 8000.0, 10000.0};
  const ears_bands    floor = ears_bands_of(noise->x, noise->n);
  ears_bands          b     = ears_bands_of(note.x, n);
  const double        one   = 1.0 / (N_STRINGS * EARS_N_FRETS);
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    // What the string gives, not the interface; 10 dB below it at most
    b.third[k] = fmax(b.third[k] - floor.third[k], 0.1 * floor.third[k]);
  }
  for (size_t i = 0; i < sizeof(HZ) / sizeof(HZ[0]); ++i) {
    a->of.tone[i] +=
      one * (ears_third_db(&b, HZ[i]) - ears_third_db(&b, 1000.0));
  }
  a->of.tone[EARS_SLOPE] += one * ears_slope_db(&b);
  a->of.tone[EARS_CREST] += one * ears_crest_db(note.x, n);
}

static void
add_partials(notes* a, const ears_sound* note, take_note which)
{
  const string_gauge* const g  = &guitar_strings[which.string];
  const double              f1 = g->open_hz * pow(2.0, which.fret / 12.0);
  const double              b  = string_inharmonicity(g, f1);
  const ears_partials       p  = ears_partials_of(note->x, note->n, f1, b);
  for (size_t i = 0; i < p.n; ++i) {
    const ears_partial* const one = &p.partials[i];
    if (one->hz > 200.0) {
      a->ripple[a->n_ripple++] = one->ripple_db;
    }
    for (size_t k = 0; k < EARS_N_T60; ++k) {
      if (one->hz >= ears_t60_ranges[k].from_hz &&
          one->hz < ears_t60_ranges[k].to_hz) {
        a->t60[k][a->n_t60[k]++] = one->t60_s;
      }
    }
  }
  a->of.inharmonicity[which.string] +=
    100.0 * (p.inharmonicity / b - 1.0) / EARS_N_FRETS;
}

ears_strength
ears_strength_of(double force)
{
  notes a = {.n_ripple = 0};
  for (uint32_t string = 0; string < N_STRINGS; ++string) {
    for (size_t k = 0; k < EARS_N_FRETS; ++k) {
      const take_note which = {string, ears_frets[k], force};
      ears_sound      noise;
      ears_sound      note = ears_sound_note(which, NOTE_S, &noise);
      add_partials(&a, &note, which);
      add_tone(&a, note, &noise);
      ears_sound_free(&noise);
      ears_sound_free(&note);
    }
  }
  a.of.tone[EARS_RIPPLE] = ears_percentile(a.ripple, a.n_ripple, 0.5);
  for (size_t k = 0; k < EARS_N_T60; ++k) {
    a.of.t60_s[k] = ears_percentile(a.t60[k], a.n_t60[k], 0.5);
  }
  return a.of;
}
