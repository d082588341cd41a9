// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "path.h"

#include "alloc.h"

#include <string.h>

size_t
path_folder_length(const char* path)
{
  const char* const slash = strrchr(path, '/');
  return slash ? (size_t)(slash + 1 - path) : 0;
}

const char*
path_name(const char* path)
{
  return path + path_folder_length(path);
}

const char*
path_ending(const char* path)
{
  const char* const name = path_name(path);
  const char* const dot  = strrchr(name, '.');
  return dot ? dot : name + strlen(name);
}

char*
path_beside(const char* file, const char* name)
{
  const size_t folder = *name == '/' ? 0 : path_folder_length(file);
  return alloc_print("%.*s%s", (int)folder, file, name);
}
