// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "probe.h"

#include <math.h>

/// Returns the level of a power that may not be measured
static double
band_db(const probe* p, uint32_t band)
{
  const double power = probe_bank_band_power(p->bank, p->signal, band);
  return isnan(power) ? power : level_power_db(power);
}

signal_figures
probe_figures(const probe* p)
{
  signal_figures f = {.level_db = (double)NAN,
                      .peak_db  = (double)NAN,
                      .crest_db = (double)NAN,
                      .lufs     = probe_bank_lufs(p->bank, p->signal)};
  if (p->level) {
    f.level_db = level_meter_gated_db(p->level);
    f.peak_db  = level_meter_peak_db(p->level);
    f.crest_db = isfinite(f.level_db) ? f.peak_db - f.level_db : (double)NAN;
  }
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    f.bands_db[i] = band_db(p, i);
  }
  return f;
}

double
probe_range_lu(const probe* p)
{
  return probe_bank_range_lu(p->bank);
}

double
probe_true_peak_db(const probe* p)
{
  return probe_bank_true_peak_db(p->bank);
}
