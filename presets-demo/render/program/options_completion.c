// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "options_page.h"

#include <ctype.h>
#include <string.h>

/// Prints the name of the shell function: "-" becomes "_"
static void
print_function(FILE* file, const char* name)
{
  (void)fputc('_', file);
  for (; *name; ++name) {
    (void)fputc(isalnum((unsigned char)*name) ? *name : '_', file);
  }
}

/// By how the tables call it
static bool
is_folder(const char* argument)
{
  return !strcmp(argument, "DIR") || !strcmp(argument, "FOLDER");
}

/// Prints what completes the argument of an option
static void
print_argument(FILE* file, const option_row* row)
{
  if (row->letter) {
    (void)fprintf(file, "    -%c | ", row->letter);
  } else {
    (void)fputs("    ", file);
  }
  (void)fprintf(file, "--%s)\n", row->name);
  if (row->kind == OPTION_CHOICE) {
    (void)fputs("      kind=(-W '", file);
    for (uint32_t i = 0; row->choices[i]; ++i) {
      (void)fprintf(file, "%s%s", i ? " " : "", row->choices[i]);
    }
    (void)fputs("') ;;\n", file);
  } else if (row->kind == OPTION_TEXT) {
    (void)fprintf(file, "      kind=(%s) ;;\n",
                  is_folder(row->argument) ? "-d" : "-f");
  } else {
    (void)fputs("      return ;;\n", file); // A number
  }
}

static void
print_options(FILE* file, const options_program* p)
{
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    (void)fprintf(file, "--%s ", p->rows[i].name);
  }
  (void)fputs("--help --version", file);
}

// The shell splits at "=" too, so the name may be two words back
void
options_print_completion(FILE* file, const options_program* p)
{
  (void)fprintf(file, "# Bash completion of %s %s\n\n", p->name, p->version);
  print_function(file, p->name);
  (void)fputs("() {\n"
              "  local word=${COMP_WORDS[COMP_CWORD]} kind=(-f)\n"
              "  local before=${COMP_WORDS[COMP_CWORD - 1]}\n"
              "  [[ $word != = ]] || word=\n"
              "  [[ $before != = ]] || before=${COMP_WORDS[COMP_CWORD - 2]}\n"
              "  COMPREPLY=()\n"
              "  case $before in\n",
              file);
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    if (p->rows[i].argument) {
      print_argument(file, &p->rows[i]);
    }
  }
  (void)fputs("    *) [[ $word != -* ]] || kind=(-W '", file);
  print_options(file, p);
  (void)fputs(
    "') ;;\n"
    "  esac\n"
    "  [[ ${kind[0]} == -W ]] || compopt -o filenames 2>/dev/null\n"
    "  mapfile -t COMPREPLY < <(compgen \"${kind[@]}\" -- \"$word\")\n"
    "}\n"
    "complete -F ",
    file);
  print_function(file, p->name);
  (void)fprintf(file, " %s\n", p->name);
}
