// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_values.h"

#include "presets-demo/render/program/printable.h"

#include <string.h>

/// Values of a track; without a stem, of every stage
static const struct {
  const char* stem;
  const char* symbol;
} of_a_track[] = {
  {NULL, "enabled"},
  {NULL, "match_bypass"},
  {"di-cleanup", "gain_db"},
};

bool
preset_values_hold(const part* p, const char* symbol)
{
  for (size_t i = 0; i < sizeof(of_a_track) / sizeof(of_a_track[0]); ++i) {
    if (!strcmp(symbol, of_a_track[i].symbol) &&
        (!of_a_track[i].stem || !strcmp(p->stem, of_a_track[i].stem))) {
      return false;
    }
  }
  return true;
}

void
preset_values_print_left_out(FILE* out, const char* path, const setup* s)
{
  bool is_first = true;
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    const part* const p = s->stages[i].part;
    for (uint32_t k = 0; k < p->forms[0].n_controls; ++k) {
      const control_input* const c = &p->forms[0].controls[k];
      if (!preset_values_hold(p, c->symbol) &&
          s->stages[i].values[k] != c->def) {
        if (is_first) {
          printable_print(out, "%s: for the renderer only: ", path);
        }
        (void)fprintf(out, "%s%s of %s", is_first ? "" : ", ", c->symbol,
                      p->stem);
        is_first = false;
      }
    }
  }
  if (!is_first) {
    (void)fprintf(out, "; a preset leaves them as they are on the track\n");
  }
}
