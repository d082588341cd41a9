// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_dry.h"
#include "ears_strength.h"
#include "ears_table.h"

#include <math.h>
#include <stdio.h>

#define N_STRENGTH 3

static const struct {
  const char* name;
  double      force;
} STRENGTHS[N_STRENGTH] = {{"p", 0.25}, {"mf", 0.55}, {"f", 0.95}};

enum { N = EARS_N_TONE, N_RANGES = EARS_N_T60 };

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

static const ears_column RANGES[N_RANGES]       = {{"60-250", 1},
                                                   {"400-1.2k", 1},
                                                   {"1.5-2.5k", 1},
                                                   {"3.5-5.5k", 1},
                                                   {"5.5-9k", 1}};
static const double      REAL_LEAST_S[N_RANGES] = {8.0, 6.0, 1.7, 1.2, 0.9};
static const double      REAL_MOST_S[N_RANGES]  = {11.0, 7.0, 2.7, 1.2, 1.2};

static void
print_tone(const ears_strength* a)
{
  ears_must musts[N_STRENGTH + 1][N];
  for (int k = 0; k <= N_STRENGTH; ++k) {
    for (int i = 0; i < N; ++i) {
      musts[k][i] = (ears_must)EARS_ANY;
    }
    musts[k][EARS_RIPPLE].min = k < N_STRENGTH ? 1.5 : -(double)INFINITY;
  }
  musts[0][EARS_SLOPE] = (ears_must){-28.0, -18.0};
  musts[2][EARS_SLOPE] = (ears_must){-22.0, -12.0};
  ears_table_head("", COLUMNS, N);
  double more[N];
  for (int k = 0; k < N_STRENGTH; ++k) {
    ears_table_row(STRENGTHS[k].name, COLUMNS, N, a[k].tone, musts[k]);
    ears_table_row(REAL[k].label, COLUMNS, N, REAL[k].values, NULL);
  }
  for (int i = 0; i < N; ++i) {
    more[i] = i <= EARS_10K ? a[2].tone[i] - a[0].tone[i] : (double)NAN;
  }
  for (int i = EARS_5K; i <= EARS_8K; ++i) {
    musts[N_STRENGTH][i].min = 12.0;
  }
  ears_table_row("p to f", COLUMNS, N, more, musts[N_STRENGTH]);
}

static void
print_decay(const ears_strength* a)
{
  ears_table_head("T60, s, at Hz", RANGES, N_RANGES);
  for (int k = 0; k < N_STRENGTH; ++k) {
    ears_table_row(STRENGTHS[k].name, RANGES, N_RANGES, a[k].t60_s, NULL);
  }
  ears_table_row("  real, least", RANGES, N_RANGES, REAL_LEAST_S, NULL);
  ears_table_row("  real, most", RANGES, N_RANGES, REAL_MOST_S, NULL);
}

static void
print_inharmonicity(const ears_strength* a)
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
  ears_strength figures[N_STRENGTH];
  for (int k = 0; k < N_STRENGTH; ++k) {
    figures[k] = ears_strength_of(STRENGTHS[k].force);
  }
  (void)printf(
    "\n== single notes of the model: frets %u and %u of all strings\n"
    "Thirds re 1 kHz, slope and crest: means over the first %.1f s; "
    "ripple above 200 Hz and T60: medians;\n"
    "B: against pi^3 E d^4 / (64 T L^2) of its strings\n",
    ears_frets[0], ears_frets[1], EARS_TONE_S);
  print_tone(figures);
  print_decay(figures);
  print_inharmonicity(figures);
}
