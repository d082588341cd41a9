// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "journal.h"

#include <stdlib.h>

void
journal_free(journal* j)
{
  free(j->moves);
  free(j->parts);
  *j = (journal){0};
}

static int
index_of(const journal* j, uint32_t id)
{
  // The last of equal marks: an earlier one can only be of a damaged line
  for (uint32_t i = j->n; id != JOURNAL_START && i-- > 0;) {
    if (j->moves[i].id == id) {
      return (int)i;
    }
  }
  return -1;
}

const journal_move*
journal_find(const journal* j, uint32_t id)
{
  const int i = index_of(j, id);
  return i < 0 ? NULL : &j->moves[i];
}

uint32_t
journal_heads(const journal* j, uint32_t heads[], uint32_t most)
{
  uint32_t n = 0;
  for (uint32_t i = j->n; i-- > 0 && n < most;) {
    if (!j->moves[i].is_own && !j->moves[i].is_followed) {
      heads[n++] = j->moves[i].id;
    }
  }
  return n;
}

/// Adds a move, or takes it back
static void
add_move(const journal* j, const journal_move* m, int sign, journal_way* way)
{
  for (uint32_t i = 0; i < m->n; ++i) {
    const journal_part* const part = &j->parts[m->first + i];
    if (!part->is_choice) {
      way->by[part->param] += sign * (int64_t)part->by;
    } else if (sign > 0 && way->choice[part->param] < 0) {
      way->choice[part->param] = part->by; // The last one counts
    }
  }
}

bool
journal_way_to(const journal* j, uint32_t from, uint32_t to, journal_way* way)
{
  int a = index_of(j, from);
  int b = index_of(j, to);
  for (uint32_t i = 0; i < JOURNAL_PARAMS; ++i) {
    way->by[i]     = 0;
    way->choice[i] = -1;
  }

  uint32_t last_a = from; // Where each way comes out above
  uint32_t last_b = to;
  while (a != b) { // The deeper one climbs
    const uint32_t depth_a = a < 0 ? 0 : j->moves[a].depth;
    const uint32_t depth_b = b < 0 ? 0 : j->moves[b].depth;
    if (depth_a > depth_b) {
      add_move(j, &j->moves[a], -1, way);
      last_a = j->moves[a].parent;
      a      = j->moves[a].above;
    } else {
      add_move(j, &j->moves[b], 1, way);
      last_b = j->moves[b].parent;
      b      = j->moves[b].above;
    }
  }
  return a >= 0 || last_a == last_b;
}
