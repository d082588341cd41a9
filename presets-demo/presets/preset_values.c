// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_values.h"

#include "plugins/setup/setup_part.h"
#include "presets-demo/render/program/printable.h"

bool
preset_values_hold(const part* p, const char* symbol)
{
  return !setup_part_is_of_track(p->stem, symbol);
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
