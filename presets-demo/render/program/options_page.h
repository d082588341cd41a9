// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The manual page and the shell completion of a program, from the table that
/// its parser and its help come from (options.h)

#ifndef PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_PAGE_H
#define PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_PAGE_H

#include "options.h"

/// Prints a page for section 1 in the macros of man(7).  `others` are the
/// programs to see also, ended by NULL; the page's own name is left out.  No
/// date is in it: the same table gives the same page.
void
options_print_page(FILE*                  file,
                   const options_program* p,
                   const char* const*     others);

/// Prints a completion for bash 4 and later, which needs no other script
void
options_print_completion(FILE* file, const options_program* p);

#endif // PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_PAGE_H
