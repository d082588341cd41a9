// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_part.h"

#include "plugins/text/spelling.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int
setup_parts_find(const setup_parts* p, const char* stem)
{
  for (uint32_t i = 0; i < p->n; ++i) {
    if (!strcmp(p->parts[i].stem, stem)) {
      return (int)i;
    }
  }
  return -1;
}

int
setup_part_control(const setup_part* p, const char* symbol)
{
  for (uint32_t i = 0; i < p->n_controls; ++i) {
    if (!strcmp(p->controls[i].symbol, symbol)) {
      return (int)i;
    }
  }
  return -1;
}

bool
setup_parts_unknown(const setup_parts* p, const char* stem, failure* f)
{
  const char** const known = calloc(p->n + 1, sizeof(*known));
  if (!known) {
    return fail_of_memory(f);
  }
  for (uint32_t i = 0; i < p->n; ++i) {
    known[i] = p->parts[i].stem;
  }
  (void)spelling_fail("stage", stem, "", known, p->n, f);
  free(known);
  return false;
}

bool
setup_part_unknown(const setup_part* p, const char* symbol, failure* f)
{
  const char** const known = calloc(p->n_controls + 1, sizeof(*known));
  if (!known) {
    return fail_of_memory(f);
  }
  for (uint32_t i = 0; i < p->n_controls; ++i) {
    known[i] = p->controls[i].symbol;
  }
  char where[256];
  (void)snprintf(where, sizeof(where), " of %s", p->stem);
  (void)spelling_fail("control", symbol, where, known, p->n_controls, f);
  free(known);
  return false;
}

bool
setup_part_is_of_track(const char* stem, const char* symbol)
{
  static const struct {
    const char* stem; ///< NULL: every stage
    const char* symbol;
  } of_track[] = {
    {NULL, "enabled"},
    {NULL, "match_bypass"},
    {"di-cleanup", "gain_db"},
  };
  for (size_t i = 0; i < sizeof(of_track) / sizeof(of_track[0]); ++i) {
    if (!strcmp(symbol, of_track[i].symbol) &&
        (!of_track[i].stem || !strcmp(stem, of_track[i].stem))) {
      return true;
    }
  }
  return false;
}
