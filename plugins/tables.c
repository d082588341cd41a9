// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Which plugins there are, in which forms, and what ports they have

#include "shell.h"

#include "plugin_list.h"

#include <stdio.h>
#include <string.h>

const param_info shell_param_info[shell_n_params] = {
  SHELL_PARAMS(PARAMS_INFO_NUM, PARAMS_INFO_TOG, PARAMS_INFO_SEL)
    SHELL_HIDDEN_PARAMS(PARAMS_HIDDEN_NUM, PARAMS_HIDDEN_SEL)};
METERS_DEFINE(shell, SHELL_METERS)

#define DECLARE_PLUGIN(x)  extern const plugin x##_plugin;
#define POINT_TO_PLUGIN(x) &x##_plugin,

PLUGIN_LIST(DECLARE_PLUGIN)

static const plugin* const plugins[] = {PLUGIN_LIST(POINT_TO_PLUGIN) NULL};

const plugin*
shell_plugin(uint32_t n)
{
  const uint32_t count = sizeof(plugins) / sizeof(plugins[0]) - 1;
  return n < count ? plugins[n] : NULL;
}

uint32_t
shell_form_count(const plugin* p)
{
  return p->forms == FORMS_BUS ? 1 : 2;
}

plugin_form
shell_form(const plugin* p, uint32_t i)
{
  plugin_form f = {.plugin = p, .is_stereo_form = i == 1};

  f.n_in  = (i == 1 || p->forms == FORMS_BUS) ? 2 : 1;
  f.n_out = (i == 1 || p->forms != FORMS_TRACK) ? 2 : 1;
  (void)snprintf(f.uri, sizeof(f.uri), SHELL_URI_PREFIX "%s%s", p->stem,
                 i == 1 ? "-stereo" : "");
  return f;
}

uint32_t
shell_param_count(const plugin* p)
{
  return shell_n_params + p->ops->n_params;
}

uint32_t
shell_shown_count(const plugin* p)
{
  return shell_param_count(p) - SHELL_N_HIDDEN;
}

const param_info*
shell_param(const plugin* p, uint32_t i)
{
  if (shell_param_is_stages(p, i)) {
    return &p->ops->params[i - SHELL_FIRST_PARAMS];
  }
  return &shell_param_info[i < SHELL_FIRST_PARAMS ? i : i - p->ops->n_params];
}

bool
shell_param_is_stages(const plugin* p, uint32_t i)
{
  return i >= SHELL_FIRST_PARAMS && i < SHELL_FIRST_PARAMS + p->ops->n_params;
}

uint32_t
shell_mask_bit(const plugin* p, uint32_t i)
{
  if (shell_param_is_stages(p, i)) {
    const uint32_t bit = 1U + i - SHELL_FIRST_PARAMS;
    return bit < SHELL_MASK_BITS ? 1U << bit : 0U;
  }
  return i >= SHELL_FIRST_PARAMS && i < shell_shown_count(p) ? 1U : 0U;
}

uint32_t
shell_meter_count(const plugin* p)
{
  return shell_n_meters + p->ops->n_meters;
}

const meter_info*
shell_meter(const plugin* p, uint32_t i)
{
  return i < shell_n_meters ? &shell_meter_info[i]
                            : &p->ops->meters[i - shell_n_meters];
}

int
shell_port(const plugin* p, const char* symbol)
{
  const uint32_t n_params = shell_param_count(p);
  const uint32_t n_meters = shell_meter_count(p);
  for (uint32_t i = 0; i < n_params; ++i) {
    if (!strcmp(shell_param(p, i)->symbol, symbol)) {
      return (int)i;
    }
  }
  for (uint32_t i = 0; i < n_meters; ++i) {
    if (!strcmp(shell_meter(p, i)->symbol, symbol)) {
      return (int)(n_params + i);
    }
  }
  return -1;
}
