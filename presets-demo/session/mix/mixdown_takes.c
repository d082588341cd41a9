// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Looks at the recordings of all tracks before they are played

#include "mixdown_state.h"

/// Returns whether the recording of a track is looked at: it is rendered, and
/// no earlier run has looked
static bool
is_wanted(const mixdown* m, uint32_t i)
{
  return mixdown_is_chosen(m, i) && !m->lanes[i].taken;
}

/// Opens the lane's recording for a first look, or a further one
static bool
prepare(mixdown* m, uint32_t i, failure* f)
{
  const lane* const l = &m->lanes[i];
  if (m->looks[i]) {
    return take_look_is_done(m->looks[i]) || take_look_again(m->looks[i], f) ||
           lane_fail(l, f);
  }
  m->looks[i] = take_look_new(m->host, m->parts, &l->setup, l->strip->file,
                              lane_is_aligned(l), f);
  return m->looks[i] || lane_fail(l, f);
}

static void
look(void* user, uint32_t i)
{
  mixdown* const m = user;
  lane* const    l = &m->lanes[i];
  l->has_failed =
    is_wanted(m, i) && !take_look_run(m->looks[i], m->stop, &l->failure);
}

/// Reads all recordings once, side by side.  Those that are done are not read.
static bool
look_once(mixdown* m, failure* f)
{
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    if (is_wanted(m, i) && !prepare(m, i, f)) {
      return false;
    }
  }
  worker_pool_run(m->workers, look, m, m->n_tracks);
  return mixdown_check_lanes(m, f);
}

static bool
are_done(const mixdown* m)
{
  bool are = true;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    are = are &&
          (!is_wanted(m, i) || (m->looks[i] && take_look_is_done(m->looks[i])));
  }
  return are;
}

bool
mixdown_look_at_takes(mixdown* m, failure* f)
{
  while (!are_done(m)) {
    if (!look_once(m, f)) {
      return false;
    }
  }
  bool are_mended = false;
  for (uint32_t i = 0; i < m->n_tracks; ++i) {
    lane* const l = &m->lanes[i];
    if (m->looks[i]) {
      l->take = *take_look_result(m->looks[i]);
      take_look_free(m->looks[i]);
      m->looks[i] = NULL;
    }
    are_mended = are_mended || audio_mend_changes(&l->take.mend);
  }
  return !are_mended || mixdown_open_tracks(m, f);
}
