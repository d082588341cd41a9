// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup.h"

#include "plugins/setup/setup_chain.h"
#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>

/// Takes over what was read
static void
take(setup* s, setup_chain* chain, const catalogue* c)
{
  s->stages = alloc_new(chain->n_stages, sizeof(*s->stages));
  while (s->n_stages < chain->n_stages) {
    setup_stage* const stage = &chain->stages[s->n_stages];
    s->stages[s->n_stages++] = (part_settings){
      .part   = &c->parts[stage->part],
      .values = stage->values,
    };
    stage->values = NULL;
  }
  s->align       = chain->align;
  s->files       = chain->files;
  s->n_files     = chain->n_files;
  chain->files   = NULL;
  chain->n_files = 0;
}

bool
setup_load(setup* s, const char* path, const catalogue* c, failure* f)
{
  setup_part* const names = alloc_new(c->n_parts, sizeof(*names));
  for (uint32_t i = 0; i < c->n_parts; ++i) {
    names[i] = part_names(&c->parts[i]);
  }
  const setup_parts parts = {.parts = names, .n = c->n_parts};
  setup_chain       chain;
  const bool        ok = setup_chain_load(&chain, path, &parts, f);
  *s                   = (setup){.stages = NULL};
  if (ok) {
    take(s, &chain, c);
    setup_chain_clear(&chain);
  }
  free(names);
  return ok;
}

void
setup_clear(setup* s)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    free(s->stages[i].values);
  }
  for (uint32_t i = 0; i < s->n_files; ++i) {
    free(s->files[i]);
  }
  free(s->files);
  free(s->stages);
  *s = (setup){.stages = NULL};
}
