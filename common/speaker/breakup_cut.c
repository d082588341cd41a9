// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_cut.h"

#define SLOW_TAU_S 0.040

// One frame of so many is enough for g: L has hardly any treble
#define EACH 4U

// Mean square of L(x) below which g stays
#define SILENCE 1e-14

void
breakup_cut_init(breakup_cut* c, double rate_hz, uint32_t n_channels)
{
  infra_cut_init(&c->cut, INFRA_CUT_EDGE_HZ, rate_hz);
  c->share      = one_pole_share(SLOW_TAU_S, rate_hz / CONTROL_FRAMES);
  c->n_channels = n_channels;
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&c->channel[k].input, c->channel[k].line, BREAKUP_CUT_LINE);
  }
  breakup_cut_reset(c, 1.0);
}

void
breakup_cut_reset(breakup_cut* c, double gain)
{
  c->phase = 0;
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    breakup_cut_channel* const m = &c->channel[k];
    delay_reset(&m->input);
    m->of_in = m->of_out = (infra_cut_memory){.n = 0};
    m->both = m->square = m->mean_both = m->mean_square = 0.0;
    m->mean                                             = gain;
    ramp_snap(&m->g, gain);
  }
}

void
breakup_cut_control(breakup_cut* c)
{
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    breakup_cut_channel* const m = &c->channel[k];
    m->mean_both += c->share * (m->both - m->mean_both);
    m->mean_square += c->share * (m->square - m->mean_square);
    m->both = m->square = 0.0;
    if (m->mean_square > SILENCE) {
      m->mean += c->share * (m->mean_both / m->mean_square - m->mean);
    }
    (void)ramp_push(&m->g, m->mean);
  }
  c->phase = 0;
}

void
breakup_cut_listen(breakup_cut* c, const float* const* in, uint32_t n)
{
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    delay_push(&c->channel[k].input, in[k], n);
  }
}

/// Keeps the linear part: `cut` is the output, high-passed
static void
keep_linear(breakup_cut* c,
            uint32_t     k,
            const float* linear,
            const float* cut,
            float*       x,
            uint32_t     latency,
            uint32_t     n)
{
  breakup_cut_channel* const m = &c->channel[k];
  float                      low[CONTROL_FRAMES], of_in[CONTROL_FRAMES];
  float                      g[CONTROL_FRAMES];
  delay_read(&m->input, m->input.pos - n - latency, low, n);
  infra_cut_run(&c->cut, &m->of_in, low, of_in, n);
  ramp_values(&m->g, g, n);
  for (uint32_t i = 0; i < n; ++i) {
    low[i] -= of_in[i];
  }
  for (uint32_t i = (EACH - c->phase % EACH) % EACH; i < n; i += EACH) {
    const double in = (double)low[i];
    m->both += in * (double)(x[i] - cut[i]);
    m->square += in * in;
  }
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = cut[i] + (linear[i] * g[i]) * low[i];
  }
}

void
breakup_cut_run(breakup_cut*  c,
                ramp*         linear,
                float* const* x,
                uint32_t      latency,
                uint32_t      n)
{
  float share[CONTROL_FRAMES], cut[CONTROL_FRAMES];
  if (ramp_rests_at(linear, 0.0F)) { // In a box
    for (uint32_t k = 0; k < c->n_channels; ++k) {
      infra_cut_run(&c->cut, &c->channel[k].of_out, x[k], x[k], n);
    }
  } else {
    ramp_values(linear, share, n);
    for (uint32_t k = 0; k < c->n_channels; ++k) {
      infra_cut_run(&c->cut, &c->channel[k].of_out, x[k], cut, n);
      keep_linear(c, k, share, cut, x[k], latency, n);
    }
  }
  c->phase += n;
}
