// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_dry.h"

#include "ears_bands.h"
#include "ears_level.h"
#include "ears_table.h"

#include <math.h>
#include <stdio.h>

/// Nominal frequencies of the thirds, IEC 61260-1:2014, annex E
static const char* const NOMINAL[EARS_N_THIRDS] = {
  "25",   "31.5",  "40",  "50",  "63",   "80",  "100", "125",   "160",  "200",
  "250",  "315",   "400", "500", "630",  "800", "1k",  "1.25k", "1.6k", "2k",
  "2.5k", "3.15k", "4k",  "5k",  "6.3k", "8k",  "10k", "12.5k", "16k"};

static void
print_thirds(const ears_bands* b, double from_hz, double to_hz)
{
  ears_column  columns[EARS_N_THIRDS];
  double       values[EARS_N_THIRDS];
  size_t       n  = 0;
  const size_t to = ears_third_at(to_hz);
  for (size_t k = ears_third_at(from_hz); k <= to; ++k) {
    columns[n] = (ears_column){NOMINAL[k], 1};
    values[n]  = ears_third_db(b, ears_third_hz(k)) - ears_third_db(b, 1000.0);
    ++n;
  }
  ears_table_head("Hz", columns, n);
  ears_table_row("re 1 kHz, dB", columns, n, values, NULL);
}

void
ears_print_dry(const ears_sound* s, bool is_our_lead)
{
  static const ears_column COLUMNS[] = {
    {"slope", 1}, {"crest", 1},  {"RMS", 1},   {"gated", 1},
    {"peak", 1},  {"spread", 1}, {"<20 Hz", 1}};
  enum { N = sizeof(COLUMNS) / sizeof(COLUMNS[0]) };
  const ears_bands b        = ears_bands_of(s->x, s->n);
  const double     values[] = {
        ears_slope_db(&b),
        ears_crest_db(s->x, s->n),
        ears_rms_db(s->x, s->n),
        ears_gated_db(s->x, s->n),
        ears_peak_db(s->x, s->n),
        ears_spread_db(s->x, s->n),
        10.0 * log10(b.below_20_hz / b.all),
  };
  ears_must musts[N];
  for (int i = 0; i < N; ++i) {
    musts[i] = (ears_must)EARS_ANY;
  }
  if (is_our_lead) {
    musts[1].min = 18.0;
  }
  (void)printf("Dry\n");
  print_thirds(&b, 125.0, 1250.0);
  print_thirds(&b, 1600.0, 12500.0);
  ears_table_head("", COLUMNS, N);
  ears_table_row("dB", COLUMNS, N, values, musts);
}
