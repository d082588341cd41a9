// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The past of an instance: found again by its mark

#include "follow/mark.h"
#include "frame_state.h"

#include <math.h>

/// Returns the mark that the host has, 0 for none
static uint32_t
mark_of_host(const frame* f)
{
  return (uint32_t)lroundf(f->value[f->mark_param]) & MARK_MOST;
}

static void
draw_mark(frame* f)
{
  do {
    f->mark = mark_new();
  } while (!past_keep(f->kept, f->form.uri, f->mark));
  value_put(f, (uint32_t)f->mark_param, (float)f->mark);
}

void
kept_tick(frame* f)
{
  if (f->mark_param < 0 || f->mark || !f->is_known[f->mark_param] ||
      !mark_of_host(f) || f->is_open) {
    return;
  }
  f->mark = mark_of_host(f);
  if (!past_claim(&f->kept, f->form.uri, f->mark)) {
    draw_mark(f);
  }
  loaded_recall(f);
  f->bands = BAND_ALL;
}

void
kept_mark(frame* f)
{
  if (f->mark_param < 0 || !f->is_known[f->mark_param] || mark_of_host(f)) {
    return;
  }
  if (f->mark) { // The host forgot it
    value_put(f, (uint32_t)f->mark_param, (float)f->mark);
  } else {
    draw_mark(f);
  }
}
