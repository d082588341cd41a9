// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "align.h"

#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>
#include <string.h>

#define STAGE "di-cleanup"

/// Returns the settings of a setup's DI clean-up, or the default ones
static part_settings
settings_of(const part* p, const setup* s)
{
  const part_form* const form   = &p->forms[0];
  part_settings          chosen = {
             .part   = p,
             .values = alloc_new(form->n_controls, sizeof(float)),
  };
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    chosen.values[i] = form->controls[i].def;
  }
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    if (s->stages[i].part == p) {
      memcpy(chosen.values, s->stages[i].values,
             form->n_controls * sizeof(float));
    }
  }
  return chosen;
}

chain*
align_new(host*            h,
          const catalogue* parts,
          const setup*     s,
          uint32_t         n_channels,
          double           rate_hz,
          failure*         f)
{
  const part* const p = catalogue_part(parts, STAGE);
  if (!p) {
    (void)fail_with(f,
                    "align = yes needs " STAGE ", which is not in the bundle");
    return NULL;
  }
  part_settings settings = settings_of(p, s);
  chain* const  c        = chain_new(h, &settings, 1, n_channels, rate_hz, f);
  free(settings.values);
  return c;
}

double
align_db(const chain* c)
{
  return chain_meter(c, 0, "align_db");
}

/// The frequency that a choice is called by ("50 Hz"), or 0
static double
choice_hz(const control_input* c, float value)
{
  for (uint32_t k = 0; k < c->n_choices; ++k) {
    if (c->choices[k].value == value) {
      return strtod(c->choices[k].label, NULL);
    }
  }
  return 0.0;
}

double
align_mains_hz(const catalogue* parts, const setup* s)
{
  const part* const p   = catalogue_part(parts, STAGE);
  const int         hum = p ? part_control(p, "hum") : -1;
  for (uint32_t i = 0; hum >= 0 && i < s->n_stages; ++i) {
    if (s->stages[i].part == p) {
      return choice_hz(&p->forms[0].controls[hum], s->stages[i].values[hum]);
    }
  }
  return 0.0;
}
