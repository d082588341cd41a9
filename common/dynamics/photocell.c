// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "photocell.h"

#include "common/core/fastmath.h"

/// log2 of n where the reduction is 1 dB, 10^(1/20) - 1
#define LOG2_N_AT_1_DB (-3.0348287F)

// Opto-resistor data sheets give 1/e times of milliseconds on the way down in
// resistance and, on the way up, hundreds of milliseconds that grow as it goes
// on; within that, our choice for a slow, soft cell
const photocell_rates photocell_default_rates = {
  .a_min   = 1.0 / 4.0,
  .a_max   = 1.0 / 0.15,
  .b       = 12.0,
  .m0      = 0.12,
  .fill_s  = 1.5,
  .empty_s = 4.0,
};

WIDE_CLONES static void
solve(const float* restrict level_db,
      const float* restrict p,
      float* restrict n_t,
      uint32_t n)
{
  // M + p log2(1 + 2^M) = right, with M the log2 of n.  The left side is convex
  // and the start lies above the root, so Newton's steps cannot overshoot.
  for (uint32_t i = 0; i < n; ++i) {
    const float right = LOG2_N_AT_1_DB + p[i] * OCTAVES_PER_DB * level_db[i];
    float       m     = right < 0.0F ? right : right / (1.0F + p[i]);
    for (int step = 0; step < 3; ++step) {
      const float e    = fast_exp2(m);
      const float soft = fast_log2(1.0F + e);
      m -= (m + p[i] * soft - right) / (1.0F + p[i] * e / (1.0F + e));
    }
    n_t[i] = fast_exp2(m);
  }
}

void
photocell_law(const float* level_db, const float* p, float* n_t, uint32_t n)
{
  solve(level_db, p, n_t, n);
}

double
photocell_law_db(double level_db, double p)
{
  const float level    = (float)level_db;
  const float exponent = (float)p;
  float       n_t      = 0.0F;
  photocell_law(&level, &exponent, &n_t, 1);
  return gain_to_db(1.0 + (double)n_t);
}

void
photocell_init(photocell* c, double rate_hz, photocell_rates rates)
{
  c->rate_hz    = rate_hz;
  c->rates      = rates;
  c->speed      = 1.0;
  c->has_memory = true;
  photocell_reset(c);
}

/// Computes the rates from the state of the memory
static void
renew_rates(photocell* c)
{
  const photocell_rates* r    = &c->rates;
  const double           fill = c->has_memory ? c->m / r->m0 : 0.0;
  c->a = c->speed * (r->a_min + (r->a_max - r->a_min) / (1.0 + fill * fill));
  c->b = c->speed * r->b;
}

void
photocell_set(photocell* c, double speed, bool has_memory)
{
  c->speed      = speed;
  c->has_memory = has_memory;
}

void
photocell_reset(photocell* c)
{
  c->n      = 0.0;
  c->scale  = 1.0;
  c->frames = 0;
  c->m      = 0.0;
  renew_rates(c);
}

void
photocell_control(photocell* c)
{
  const double n     = photocell_n(c);
  const double tau_s = n > c->m ? c->rates.fill_s : c->rates.empty_s;
  const double share =
    one_pole_share(tau_s / c->speed, c->rate_hz / CONTROL_FRAMES);
  c->m += share * (n - c->m);
  renew_rates(c);
}

WIDE_CLONES static void
follow(photocell* c, const float* n_t, float* gain, uint32_t n)
{
  // exp(-(a + 2 b n_t) T) as 1 / (1 + z + z^2/2 + z^3/6): exact to 1e-9 where z
  // is below 0.01, as it is in music, and always between 0 and 1
  const double t = 1.0 / c->rate_hz;
  double       decay[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    const double z = t * (c->a + 2.0 * c->b * (double)n_t[i]);
    decay[i]       = 1.0 / (1.0 + z * (1.0 + z * (0.5 + z * (1.0 / 6.0))));
  }

  // With q = (n - n_t) / (n + n_t + a/b) * decay the next n is (n_t + q (n_t +
  // a/b)) / (1 - q): a fraction of two first-degree polynomials in n.  So
  // numerator and denominator are carried on as two numbers, without waiting
  // for a division, and divided side by side afterwards.
  const double ratio = c->a / c->b;
  double       keep[CONTROL_FRAMES], add[CONTROL_FRAMES], grow[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    const double to   = (double)n_t[i];
    const double sum  = to + ratio;
    const double lost = 1.0 - decay[i];
    const double one  = 1.0 / (sum + to * decay[i]);
    keep[i]           = one * (to + decay[i] * sum);
    add[i]            = one * (to * sum * lost);
    grow[i]           = one * lost;
  }
  double   above[CONTROL_FRAMES], below[CONTROL_FRAMES];
  double   num  = c->n;
  double   den  = c->scale;
  uint32_t left = CONTROL_FRAMES - c->frames;
  for (uint32_t i = 0; i < n; ++i) {
    const double was = num;
    num              = keep[i] * was + add[i] * den;
    den              = grow[i] * was + den;
    above[i]         = num;
    below[i]         = den;
    if (--left == 0) { // Otherwise both would grow for ever
      num  = num / den;
      den  = 1.0;
      left = CONTROL_FRAMES;
    }
  }
  c->n      = num;
  c->scale  = den;
  c->frames = CONTROL_FRAMES - left;
  for (uint32_t i = 0; i < n; ++i) {
    gain[i] = (float)(below[i] / (below[i] + above[i]));
  }
}

void
photocell_run(photocell* c, const float* n_t, float* gain, uint32_t n)
{
  follow(c, n_t, gain, n);
}
