// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Computes parts of pictures without a window

#ifndef TESTS_WINDOW_PICTURE_RIG_H
#define TESTS_WINDOW_PICTURE_RIG_H

#include "tests/support/check.h"

#include "plugins/window/pictures/picture.h"

#include <stdlib.h>

static const atomic_bool goes_on = false;

static inline void
defaults_of(const stage_ops* ops, float* values)
{
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
}

/// Returns the result of a part, a field of floats; to be freed
static inline float*
compute(const char*      stem,
        const stage_ops* ops,
        uint32_t         part,
        const float*     inputs,
        bool             is_coarse)
{
  const picture_part* const p = &picture_of(stem)->parts[part];
  float* const              r = calloc(1, p->size);
  probe* const              y = probe_new(ops, p->n_channels, &goes_on);
  assert_true(part < picture_of(stem)->n_parts);
  assert_true(r && y);
  probe_set(y, inputs);
  assert_true(p->compute(y, inputs, is_coarse, r));
  probe_free(y);
  return r;
}

#endif // TESTS_WINDOW_PICTURE_RIG_H
