// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "probe.h"

#include <math.h>

double
probe_loudness_lufs(const probe* p)
{
  return probe_bank_lufs(p->bank, p->signal);
}

double
probe_crest_db(const probe* p)
{
  const double rms_db = level_meter_gated_db(p->level);
  return isfinite(rms_db) ? level_meter_peak_db(p->level) - rms_db
                          : (double)NAN;
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

double
probe_band_db(const probe* p, uint32_t band)
{
  const double power = probe_bank_band_power(p->bank, p->signal, band);
  return isnan(power) ? power : level_power_db(power);
}
