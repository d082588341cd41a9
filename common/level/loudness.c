// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "loudness.h"

#include <string.h>

/// BS.1770: so that 997 Hz at 0 dBFS in one channel reads -3.01 LKFS
#define OFFSET_LU (-0.691)

// A restart comes with a change: the hop that it falls into, and the next,
// while controls glide, belong to neither side
#define STALE_HOPS 2

// Analog parameters of the two filters, recovered from the coefficients that
// the standard prints for 48 kHz
#define SHELF_HZ         1681.974450955533
#define SHELF_DB         3.999843853973347
#define SHELF_Q          0.7071752369554196
#define SHELF_BAND_POWER 0.4996667741545416
#define PASS_HZ          38.13547087602444
#define PASS_Q           0.5003270373238773

void
loudness_init(loudness* l, double rate_hz, uint32_t n_channels)
{
  const double kp = steady_tan(DSP_PI * PASS_HZ / rate_hz);
  const double a0 = 1.0 + kp / PASS_Q + kp * kp;
  const double ks = steady_tan(DSP_PI * SHELF_HZ / rate_hz);
  const double s0 = 1.0 + ks / SHELF_Q + ks * ks;
  const double vh = db_to_gain(SHELF_DB);
  const double vb = steady_pow(vh, SHELF_BAND_POWER);

  l->n_channels = n_channels;
  l->hop_lines = (uint32_t)lround(GATED_LEVEL_HOP_S * rate_hz / CONTROL_FRAMES);
  l->shelf_b[0] = (vh + vb * ks / SHELF_Q + ks * ks) / s0;
  l->shelf_b[1] = 2.0 * (ks * ks - vh) / s0;
  l->shelf_b[2] = (vh - vb * ks / SHELF_Q + ks * ks) / s0;
  l->shelf_a[0] = 2.0 * (ks * ks - 1.0) / s0;
  l->shelf_a[1] = (1.0 - ks / SHELF_Q + ks * ks) / s0;
  l->pass_a[0]  = 2.0 * (kp * kp - 1.0) / a0;
  l->pass_a[1]  = (1.0 - kp / PASS_Q + kp * kp) / a0;
  loudness_reset(l);
}

void
loudness_reset(loudness* l)
{
  memset(l->shelf, 0, sizeof(l->shelf));
  memset(l->pass, 0, sizeof(l->pass));
  memset(l->recent, 0, sizeof(l->recent));
  l->lines = 0;
  l->sum   = 0.0;
  loudness_restart(l);
  l->n_stale = 0;
}

void
loudness_restart(loudness* l)
{
  gated_level_reset(&l->gated, LOUDNESS_GATE_LUFS - OFFSET_LU);
  loudness_leave_out(l);
}

void
loudness_leave_out(loudness* l)
{
  l->n_stale = STALE_HOPS;
}

void
loudness_add(loudness* l, const float* const* in, uint32_t n)
{
  const double b0 = l->shelf_b[0];
  const double b1 = l->shelf_b[1];
  const double b2 = l->shelf_b[2];
  const double a1 = l->shelf_a[0];
  const double a2 = l->shelf_a[1];
  const double p1 = l->pass_a[0];
  const double p2 = l->pass_a[1];

  for (uint32_t k = 0; k < l->n_channels; ++k) {
    double* const s   = l->shelf[k];
    double* const h   = l->pass[k];
    double        sum = 0.0;
    for (uint32_t i = 0; i < n; ++i) {
      // Transposed direct forms; the high-pass has the zeros 1, -2, 1
      const double x = (double)in[k][i];
      const double y = b0 * x + s[0];
      s[0]           = b1 * x - a1 * y + s[1];
      s[1]           = b2 * x - a2 * y;
      const double z = y + h[0];
      h[0]           = -2.0 * y - p1 * z + h[1];
      h[1]           = y - p2 * z;
      sum += z * z;
    }
    l->sum += sum; // Both channels have the weight 1
  }
}

bool
loudness_control(loudness* l)
{
  if (++l->lines <= l->hop_lines) {
    return false;
  }
  const double mean_square = l->sum / ((double)l->hop_lines * CONTROL_FRAMES);
  l->lines                 = 1;
  l->sum                   = 0.0;
  memmove(l->recent, l->recent + 1, sizeof(l->recent) - sizeof(l->recent[0]));
  l->recent[LOUDNESS_SHORT_HOPS - 1] = mean_square;
  if (l->n_stale) {
    --l->n_stale;
    return false;
  }
  return gated_level_push(&l->gated, mean_square);
}

/// Ungated loudness of the last hops
static double
recent_lufs(const loudness* l, int hops)
{
  double sum = 0.0;
  for (int i = LOUDNESS_SHORT_HOPS - hops; i < LOUDNESS_SHORT_HOPS; ++i) {
    sum += l->recent[i];
  }
  return sum > 1e-12 ? OFFSET_LU + 0.5 * gain_to_db(sum / hops)
                     : GATED_LEVEL_FLOOR_DB;
}

double
loudness_momentary_lufs(const loudness* l)
{
  return recent_lufs(l, GATED_LEVEL_HOPS);
}

double
loudness_short_term_lufs(const loudness* l)
{
  return recent_lufs(l, LOUDNESS_SHORT_HOPS);
}

double
loudness_integrated_lufs(const loudness* l)
{
  const double db = gated_level_db(&l->gated);
  return db > GATED_LEVEL_FLOOR_DB ? OFFSET_LU + db : db;
}
