// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_bands.h"
#include "ears_dry.h"
#include "ears_level.h"
#include "ears_partials.h"
#include "ears_table.h"
#include "presets-demo/guitar/string_design.h"

#include <math.h>
#include <stdio.h>

#define NOTE_S     3.3
#define TONE_S     1.5
#define FADE_S     0.05
#define N_STRENGTH 3
#define N_RANGES   5
#define MAX_VALUES (N_STRINGS * N_FRETS * EARS_MAX_PARTIALS)

#define N_FRETS 2

static const uint32_t FRETS[N_FRETS] = {2, 7};

static const struct {
  const char* name;
  double      force;
} STRENGTHS[N_STRENGTH] = {{"p", 0.25}, {"mf", 0.55}, {"f", 0.95}};

enum { TONE_4K, TONE_5K, TONE_6K3, TONE_8K, TONE_10K, SLOPE, CREST, RIPPLE, N };

static const ears_column COLUMNS[N] = {{"4k", 1},    {"5k", 1},    {"6.3k", 1},
                                       {"8k", 1},    {"10k", 1},   {"slope", 1},
                                       {"crest", 1}, {"ripple", 1}};

// Single notes of a hollow-body electric, direct input, 752 of them
static const struct {
  const char* label;
  double      values[N];
} REAL[N_STRENGTH] = {
  {"  real p", {-20, -28, -32, -41, -47, -20, 9, 2.5}},
  {"  real mf", {-18, -27, -30, -37, -49, -18, 11, 2.5}},
  {"  real f", {-4, -13, -13, -18, -27, -12, 20, 2.5}},
};

/// Where partials are put together for their T60
static const struct {
  double from_hz, to_hz;
} EDGES[N_RANGES]                               = {{60.0, 250.0},
                                                   {400.0, 1200.0},
                                                   {1500.0, 2500.0},
                                                   {3500.0, 5500.0},
                                                   {5500.0, 9000.0}};
static const ears_column RANGES[N_RANGES]       = {{"60-250", 1},
                                                   {"400-1.2k", 1},
                                                   {"1.5-2.5k", 1},
                                                   {"3.5-5.5k", 1},
                                                   {"5.5-9k", 1}};
static const double      REAL_LEAST_S[N_RANGES] = {8.0, 6.0, 1.7, 1.2, 0.9};
static const double      REAL_MOST_S[N_RANGES]  = {11.0, 7.0, 2.7, 1.2, 1.2};

/// What all notes of a strength have in common
typedef struct {
  double tone[N]; ///< Means
  double ripple[MAX_VALUES];
  size_t n_ripple;
  double t60[N_RANGES][MAX_VALUES];
  size_t n_t60[N_RANGES];
  double inharmonicity[N_STRINGS]; ///< Mean, in % off the formula
} strength_figures;

static void
add_tone(strength_figures* a, ears_sound note, const ears_sound* noise)
{
  const size_t n    = (size_t)(TONE_S * EARS_RATE_HZ);
  const size_t fade = (size_t)(FADE_S * EARS_RATE_HZ);
  for (size_t i = 0; i < fade; ++i) {
    note.x[n - 1 - i] *= (float)i / (float)fade;
  }
  static const double HZ[]  = {4000.0, 5000.0, 6300.0, 8000.0, 10000.0};
  const ears_bands    floor = ears_bands_of(noise->x, noise->n);
  ears_bands          b     = ears_bands_of(note.x, n);
  const double        one   = 1.0 / (N_STRINGS * N_FRETS);
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    // What the string gives, not the interface; 10 dB below it at most
    b.third[k] = fmax(b.third[k] - floor.third[k], 0.1 * floor.third[k]);
  }
  for (size_t i = 0; i < sizeof(HZ) / sizeof(HZ[0]); ++i) {
    a->tone[i] += one * (ears_third_db(&b, HZ[i]) - ears_third_db(&b, 1000.0));
  }
  a->tone[SLOPE] += one * ears_slope_db(&b);
  a->tone[CREST] += one * ears_crest_db(note.x, n);
}

static void
add_partials(strength_figures* a, const ears_sound* note, take_note which)
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
    for (size_t k = 0; k < N_RANGES; ++k) {
      if (one->hz >= EDGES[k].from_hz && one->hz < EDGES[k].to_hz) {
        a->t60[k][a->n_t60[k]++] = one->t60_s;
      }
    }
  }
  a->inharmonicity[which.string] +=
    100.0 * (p.inharmonicity / b - 1.0) / N_FRETS;
}

static void
measure(strength_figures* a, double force)
{
  for (uint32_t string = 0; string < N_STRINGS; ++string) {
    for (size_t k = 0; k < N_FRETS; ++k) {
      const take_note which = {string, FRETS[k], force};
      ears_sound      noise;
      ears_sound      note = ears_sound_note(which, NOTE_S, &noise);
      add_partials(a, &note, which);
      add_tone(a, note, &noise);
      ears_sound_free(&noise);
      ears_sound_free(&note);
    }
  }
  a->tone[RIPPLE] = ears_percentile(a->ripple, a->n_ripple, 0.5);
}

static void
print_tone(const strength_figures* a)
{
  ears_must musts[N_STRENGTH + 1][N];
  for (int k = 0; k <= N_STRENGTH; ++k) {
    for (int i = 0; i < N; ++i) {
      musts[k][i] = (ears_must)EARS_ANY;
    }
    musts[k][RIPPLE].min = k < N_STRENGTH ? 1.5 : -(double)INFINITY;
  }
  musts[0][SLOPE] = (ears_must){-28.0, -18.0};
  musts[2][SLOPE] = (ears_must){-22.0, -12.0};
  ears_table_head("", COLUMNS, N);
  double more[N];
  for (int k = 0; k < N_STRENGTH; ++k) {
    ears_table_row(STRENGTHS[k].name, COLUMNS, N, a[k].tone, musts[k]);
    ears_table_row(REAL[k].label, COLUMNS, N, REAL[k].values, NULL);
  }
  for (int i = 0; i < N; ++i) {
    more[i] = i <= TONE_10K ? a[2].tone[i] - a[0].tone[i] : (double)NAN;
  }
  for (int i = TONE_5K; i <= TONE_8K; ++i) {
    musts[N_STRENGTH][i].min = 12.0;
  }
  ears_table_row("p to f", COLUMNS, N, more, musts[N_STRENGTH]);
}

static void
print_decay(strength_figures* a)
{
  ears_table_head("T60, s, at Hz", RANGES, N_RANGES);
  for (int k = 0; k < N_STRENGTH; ++k) {
    double t60[N_RANGES];
    for (int i = 0; i < N_RANGES; ++i) {
      t60[i] = ears_percentile(a[k].t60[i], a[k].n_t60[i], 0.5);
    }
    ears_table_row(STRENGTHS[k].name, RANGES, N_RANGES, t60, NULL);
  }
  ears_table_row("  real, least", RANGES, N_RANGES, REAL_LEAST_S, NULL);
  ears_table_row("  real, most", RANGES, N_RANGES, REAL_MOST_S, NULL);
}

static void
print_inharmonicity(const strength_figures* a)
{
  static const ears_column STRINGS[N_STRINGS] = {{"E", 1}, {"A", 1}, {"D", 1},
                                                 {"G", 1}, {"B", 1}, {"e", 1}};
  ears_must                musts[N_STRINGS];
  for (int i = 0; i < N_STRINGS; ++i) {
    musts[i] = (ears_must){-10.0, 10.0};
  }
  ears_table_head("B, % off", STRINGS, N_STRINGS);
  ears_table_row("p", STRINGS, N_STRINGS, a[0].inharmonicity, musts);
}

void
ears_print_notes(void)
{
  static strength_figures figures[N_STRENGTH];
  for (int k = 0; k < N_STRENGTH; ++k) {
    measure(&figures[k], STRENGTHS[k].force);
  }
  (void)printf(
    "\n== single notes of the model: frets %u and %u of all strings\n"
    "Thirds re 1 kHz, slope and crest: means over the first %.1f s; "
    "ripple above 200 Hz and T60: medians;\n"
    "B: against pi^3 E d^4 / (64 T L^2) of its strings\n",
    FRETS[0], FRETS[1], TONE_S);
  print_tone(figures);
  print_decay(figures);
  print_inharmonicity(figures);
}
