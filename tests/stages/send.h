// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A send as a mono stage, so that the promises of all stages can be checked on
/// it: both inputs are the same, and one output is heard

#ifndef TESTS_STAGES_SEND_H
#define TESTS_STAGES_SEND_H

#include "tests/support/check.h"

#include "common/core/stage.h"

typedef struct {
  const stage_ops* ops;
  uint32_t         heard; ///< Output 0 or 1
} send_side;

/// Only one at a time: the verbs have no context
static send_side send_now;

static inline bool
send_init(void* s, double rate_hz, uint32_t n_channels)
{
  (void)n_channels;
  return send_now.ops->init(s, rate_hz, 2);
}

static inline void
send_process(void* s, const float* const* in, float* const* out, uint32_t n)
{
  float              other[CONTROL_FRAMES];
  const float* const both[]  = {in[0], in[0]};
  float* const       left[]  = {out[0], other};
  float* const       right[] = {other, out[0]};
  send_now.ops->process(s, both, send_now.heard ? right : left, n);
}

/// Returns the verbs of `ops`, heard at output `heard`
static inline stage_ops
send_as_mono(const stage_ops* ops, uint32_t heard)
{
  send_now       = (send_side){ops, heard};
  stage_ops mono = *ops;
  mono.init      = send_init;
  mono.process   = send_process;
  return mono;
}

#endif // TESTS_STAGES_SEND_H
