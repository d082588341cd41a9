// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Runs while building, linked with the table of one program, PROGRAM_TABLE
///
///   print-pages page PROGRAM...   prints its manual page; PROGRAM: see also
///   print-pages completion        prints its completion for bash

#include "presets-demo/render/program/options_page.h"

#include <string.h>

extern const options_program PROGRAM_TABLE;

int
main(int argc, char** argv)
{
  if (argc < 2) {
    return 2;
  }
  if (!strcmp(argv[1], "page")) {
    options_print_page(stdout, &PROGRAM_TABLE, (const char* const*)argv + 2);
  } else {
    options_print_completion(stdout, &PROGRAM_TABLE);
  }
  return fflush(stdout) || ferror(stdout);
}
