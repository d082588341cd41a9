// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "align.h"

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STAGE "di-cleanup"

struct align {
  audio_in* in;
  chain*    chain;
  float*    x[AUDIO_MAX_CHANNELS];
};

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

align*
align_new(host*            h,
          const catalogue* parts,
          const setup*     s,
          const char*      file,
          failure*         f)
{
  const part* const p = catalogue_part(parts, STAGE);
  if (!p) {
    (void)fail_with(f,
                    "align = yes needs " STAGE ", which is not in the bundle");
    return NULL;
  }
  align* const a = alloc_new(1, sizeof(*a));
  a->in          = audio_in_open(file, 0.0, f);
  if (a->in) {
    const audio_in_info info     = audio_in_get_info(a->in);
    part_settings       settings = settings_of(p, s);
    a->chain = chain_new(h, &settings, 1, info.n_channels, info.rate_hz, f);
    free(settings.values);
  }
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
    a->x[k] = alloc_new(HOST_BLOCK_FRAMES, sizeof(float));
  }
  if (!a->chain) {
    align_free(a);
    return NULL;
  }
  return a;
}

void
align_free(align* a)
{
  if (a) {
    for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
      free(a->x[k]);
    }
    chain_free(a->chain);
    audio_in_close(a->in);
    free(a);
  }
}

double
align_measure_db(align* a, const volatile sig_atomic_t* stop, failure* f)
{
  int64_t got = HOST_BLOCK_FRAMES;
  while (got == HOST_BLOCK_FRAMES) {
    if (*stop) {
      (void)fail_with(f, "%s", "");
      return (double)NAN;
    }
    got = audio_in_read(a->in, a->x, HOST_BLOCK_FRAMES, f);
    if (got < 0 || !chain_run(a->chain, (const float* const*)a->x, a->x,
                              (uint32_t)got, f)) {
      return (double)NAN;
    }
  }
  return chain_meter(a->chain, 0, "align_db");
}
