// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes Turtle and manual from the tables of controls:
///
///   write FOLDER         the manifest and one Turtle file per plugin
///   write --manual       the tables of manual.md, to standard output

#include "manual.h"
#include "turtle.h"

#include <stdio.h>
#include <string.h>

int
main(int argc, char** argv)
{
  if (argc != 2) {
    fprintf(stderr, "usage: write FOLDER | write --manual\n");
    return 2;
  }
  if (!strcmp(argv[1], "--manual")) {
    manual_write();
  } else {
    turtle_write(argv[1]);
  }
  return 0;
}
