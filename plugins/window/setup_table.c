// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_table.h"

#include "plugins/window/controls/control.h"

#include "plugins/shell.h"

#include <stdlib.h>
#include <string.h>

enum {
  MAX_PARTS    = 16,
  MAX_CONTROLS = shell_n_params + PARAMS_MAX,
  LABELS       = 128, ///< Bytes of all choices of a control
};

/// A stage with room for its names
typedef struct {
  control_input  controls[MAX_CONTROLS];
  control_choice choices[MAX_CONTROLS][CONTROL_MAX_CHOICES];
  char           labels[MAX_CONTROLS][LABELS];
} stage_names;

struct setup_table {
  setup_part  parts[MAX_PARTS];
  stage_names names[MAX_PARTS];
  setup_parts all;
};

/// Cuts "one|two|three" into choices
static void
cut_labels(stage_names* s, uint32_t i, const char* labels)
{
  control_input* const c = &s->controls[i];
  char*                p = s->labels[i];
  (void)strncpy(p, labels, LABELS - 1);
  c->choices = s->choices[i];
  while (p && c->n_choices < CONTROL_MAX_CHOICES) {
    char* const end          = strchr(p, '|');
    c->choices[c->n_choices] = (control_choice){p, (float)c->n_choices};
    c->n_choices += 1;
    if (end) {
      *end = '\0';
    }
    p = end ? end + 1 : NULL;
  }
}

static void
add_control(stage_names* s, uint32_t i, const param_info* p)
{
  s->controls[i] = (control_input){
    .index      = i,
    .symbol     = (char*)p->symbol, // Not written to
    .unit       = (char*)control_base_unit(p),
    .kind       = p->kind == PARAM_TOG   ? CONTROL_TOGGLE
                  : p->kind == PARAM_SEL ? CONTROL_CHOICE
                                         : CONTROL_NUMBER,
    .is_integer = p->kind == PARAM_SEL,
    .min        = p->min,
    .def        = p->def,
    .max        = p->max,
  };
  if (p->kind == PARAM_SEL) {
    cut_labels(s, i, p->labels);
  }
}

setup_table*
setup_table_new(void)
{
  setup_table* const t = calloc(1, sizeof(*t));
  const plugin*      p = NULL;
  for (uint32_t n = 0; t && n < MAX_PARTS && (p = shell_plugin(n)); ++n) {
    stage_names* const s = &t->names[n];
    const uint32_t     k = shell_shown_count(p);
    for (uint32_t i = 0; i < k; ++i) {
      add_control(s, i, shell_param(p, i));
    }
    t->parts[n] = (setup_part){p->stem, s->controls, k};
    t->all      = (setup_parts){t->parts, n + 1};
  }
  return t;
}

void
setup_table_free(setup_table* t)
{
  free(t);
}

const setup_parts*
setup_table_parts(const setup_table* t)
{
  return &t->all;
}
