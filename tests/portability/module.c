// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Lets the player play what a host loads: compiled with it and with
/// -Dshell_descriptor=module_descriptor.  The module's path is in
/// DUSTCAP_MODULE.

#include "libm_answers.h"

#include "plugins/shell.h"

#include <stdio.h>
#include <stdlib.h>

#ifdef _WIN32
#  include <windows.h>
#else
#  include <dlfcn.h>
#endif

typedef void (*any_function)(void);

/// NULL if it cannot be loaded
static any_function
entry_of(const char* path)
{
#ifdef _WIN32
  const HMODULE module = LoadLibraryA(path);
  return module ? (any_function)GetProcAddress(module, "lv2_descriptor") : NULL;
#else
  // POSIX's way from an object to a function
  any_function entry  = NULL;
  void* const  module = dlopen(path, RTLD_NOW | RTLD_LOCAL);
  if (module) {
    *(void**)&entry = dlsym(module, "lv2_descriptor");
  }
  return entry;
#endif
}

const LV2_Descriptor*
module_descriptor(uint32_t index)
{
  static LV2_Descriptor_Function entry;
  if (!entry) {
    const char* const path = getenv("DUSTCAP_MODULE");
    entry = path ? (LV2_Descriptor_Function)entry_of(path) : NULL;
    if (!entry) {
      fprintf(stderr, "DUSTCAP_MODULE=%s: cannot be loaded\n",
              path ? path : "");
      exit(1);
    }
  }
  return entry(index);
}

// The module asks its own libm
void
libm_answers_note(void)
{
}

bool
libm_answers_write(const char* path)
{
  (void)path;
  return false;
}

bool
libm_answers_take(const char* path)
{
  (void)path;
  return false;
}

void
libm_answers_shake(void)
{
}

uint32_t
libm_answers_missing(void)
{
  return 0;
}
