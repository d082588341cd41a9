// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stage.h"

#include <assert.h>

#define MAX_STAGE_PARAMS 32

bool
stage_init(stage*           st,
           const stage_ops* ops,
           void*            state,
           double           rate_hz,
           uint32_t         n_channels)
{
  *st = (stage){.ops = ops, .state = state};
  if (!dsp_rate_is_valid(rate_hz) || !ops->init(state, rate_hz, n_channels)) {
    return false;
  }

  float values[MAX_STAGE_PARAMS];
  assert(ops->n_params <= MAX_STAGE_PARAMS);
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
  ops->set(state, values);
  stage_reset(st);
  return true;
}

void
stage_set(stage* st, const float* values)
{
  st->ops->set(st->state, values);
}

void
stage_reset(stage* st)
{
  st->phase = 0;
  st->ops->reset(st->state);
}

void
stage_process(stage*              st,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n)
{
  for (uint32_t done = 0; done < n;) {
    if (st->phase == 0) {
      st->ops->control(st->state);
    }

    const uint32_t left = CONTROL_FRAMES - st->phase;
    const uint32_t m    = n - done < left ? n - done : left;
    const float*   i[MAX_CHANNELS];
    float*         o[MAX_CHANNELS];
    for (uint32_t k = 0; k < n_channels; ++k) {
      i[k] = in[k] + done;
      o[k] = out[k] + done;
    }
    st->ops->process(st->state, i, o, m);

    done += m;
    st->phase = (st->phase + m) % CONTROL_FRAMES;
  }
}
