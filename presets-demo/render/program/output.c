// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "output.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

bool
output_is_printed(failure* f)
{
  const bool has_failed = ferror(stdout) != 0;
  return (!fflush(stdout) && !has_failed) ||
         fail_with(f, "standard output: cannot be written (%s)",
                   strerror(errno));
}
