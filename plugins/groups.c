// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// In which groups hosts and windows show the controls, and which count most

#include "shell.h"

#include <string.h>

static uint32_t
stage_group_count(const plugin* p)
{
  uint32_t n = 0;
  while (p->groups[n].name) {
    ++n;
  }
  return n;
}

uint32_t
shell_group_count(const plugin* p)
{
  return 1U + stage_group_count(p) + 2U;
}

const char*
shell_group_name(const plugin* p, uint32_t group)
{
  if (group == 0) {
    return "Bypass";
  }
  if (group <= stage_group_count(p)) {
    return p->groups[group - 1].name;
  }
  return group == stage_group_count(p) + 1U ? "Output level" : "Window";
}

uint32_t
shell_group_of(const plugin* p, uint32_t i)
{
  if (!shell_param_is_stages(p, i)) {
    const uint32_t n = shell_group_count(p);
    return i < SHELL_FIRST_PARAMS     ? 0U
           : i < shell_shown_count(p) ? n - 2U
                                      : n - 1U;
  }
  uint32_t group = 1;
  while (p->groups[group].name &&
         (uint32_t)shell_port(p, p->groups[group].symbol) <= i) {
    ++group;
  }
  return group;
}

uint32_t
shell_priority(const plugin* p, uint32_t i)
{
  const uint32_t n      = shell_param_count(p);
  const char*    symbol = shell_param(p, i)->symbol;
  for (uint32_t k = 0; p->main[k]; ++k) {
    if (!strcmp(symbol, p->main[k])) {
      return n + STAGE_MAIN_MAX - k;
    }
  }
  // Then the rest of the stage as it comes, and the trim.  Hosts have a switch
  // of their own for the bypass, and should show no hidden ones.
  if (i >= shell_shown_count(p)) {
    return n - i - 1U;
  }
  return i < SHELL_FIRST_PARAMS ? SHELL_N_HIDDEN + SHELL_FIRST_PARAMS - i - 1U
                                : n - i + 1U;
}
