// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "absorption.h"

double
decay_law_s(const decay_law* law, double f_hz)
{
  // Limit of the shelves below for a gain near 1: a share of
  // 1 / (1 + (f/f0)^2) of the gain in dB is left at f
  const double l = f_hz / law->low_hz;
  const double h = f_hz / law->high_hz;

  const double mid  = 1.0 / law->mid_s;
  const double low  = (1.0 / law->low_s - mid) / (1.0 + l * l);
  const double high = (1.0 / law->high_s - mid) * h * h / (1.0 + h * h);
  return 1.0 / (mid + low + high);
}

absorption_warp
absorption_warp_of(const decay_law* law, double rate_hz)
{
  const double most = 0.45 * rate_hz;
  return (absorption_warp){tan(DSP_PI * fmin(law->low_hz, most) / rate_hz),
                           tan(DSP_PI * fmin(law->high_hz, most) / rate_hz)};
}

absorption
absorption_of(const decay_law* law, absorption_warp w, double path_s)
{
  const double n       = DECAY_NEPERS * path_s;
  const double mid     = exp(-n / law->mid_s);
  const double root_gl = exp(-0.5 * n * (1.0 / law->low_s - 1.0 / law->mid_s));
  const double root_gh = exp(-0.5 * n * (1.0 / law->high_s - 1.0 / law->mid_s));

  // Low: (s + k r) / (s + k / r), and `mid` with it
  const double lp = w.low / root_gl;
  const double lz = w.low * root_gl;
  const double ln = 1.0 / (1.0 + lp);
  // High: (g s + k r) / (s + k r), g = r^2
  const double hp = w.high * root_gh;
  const double hg = root_gh * root_gh;
  const double hn = 1.0 / (1.0 + hp);

  absorption a = {
    .low_d  = mid * (1.0 + lz) * ln,
    .low_p  = (1.0 - lp) * ln,
    .high_d = (hg + hp) * hn,
    .high_p = (1.0 - hp) * hn,
  };
  // c = b1 + p b0, with b1 as in the bilinear transform
  a.low_c  = mid * (lz - 1.0) * ln + a.low_p * a.low_d;
  a.high_c = (hp - hg) * hn + a.high_p * a.high_d;
  return a;
}

void
loss_set_lane(loss_lanes* l, uint32_t k, const absorption* a, double gain)
{
  l->low_d[k]  = (float)(gain * a->low_d);
  l->low_c[k]  = (float)(gain * a->low_c);
  l->low_p[k]  = (float)a->low_p;
  l->high_d[k] = (float)a->high_d;
  l->high_c[k] = (float)a->high_c;
  l->high_p[k] = (float)a->high_p;
}

bool
loss_step_between(const loss_lanes* from,
                  const loss_lanes* to,
                  loss_lanes*       step)
{
  const f32x4 share = (f32x4){1, 1, 1, 1} / (float)CONTROL_FRAMES;

  step->low_d  = share * (to->low_d - from->low_d);
  step->low_c  = share * (to->low_c - from->low_c);
  step->low_p  = share * (to->low_p - from->low_p);
  step->high_d = share * (to->high_d - from->high_d);
  step->high_c = share * (to->high_c - from->high_c);
  step->high_p = share * (to->high_p - from->high_p);

  bool differs = false;
  for (uint32_t k = 0; k < 4; ++k) {
    differs = differs || step->low_d[k] != 0.0f || step->low_c[k] != 0.0f ||
              step->low_p[k] != 0.0f || step->high_d[k] != 0.0f ||
              step->high_c[k] != 0.0f || step->high_p[k] != 0.0f;
  }
  return differs;
}
