// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "options.h"

#include <string.h>

#define LINE_LENGTH 79U
#define HELP_COLUMN 23U

/// Prints the words of `text` from `column` on, in lines that start at `indent`
static void
print_wrapped(FILE* file, const char* text, uint32_t indent, uint32_t column)
{
  for (bool is_first = true; *text; is_first = false) {
    const uint32_t length = (uint32_t)strcspn(text, " ");
    if (!is_first && column + 1 + length > LINE_LENGTH) {
      (void)fprintf(file, "\n%*s", (int)indent, "");
      column = indent;
    } else if (!is_first) {
      (void)fputc(' ', file);
      ++column;
    }
    (void)fprintf(file, "%.*s", (int)length, text);
    column += length;
    text += length;
    text += strspn(text, " ");
  }
  (void)fputc('\n', file);
}

static void
print_row(FILE*       file,
          char        letter,
          const char* name,
          const char* argument,
          const char* help)
{
  char head[128];
  char shown[] = {'-', letter, ',', ' ', '\0'};
  if (!letter) {
    shown[0] = '\0';
  }
  (void)snprintf(head, sizeof(head), "  %s--%s%s%s", shown, name,
                 argument ? " " : "", argument ? argument : "");
  const bool is_long = strlen(head) + 2 > HELP_COLUMN;
  if (is_long) {
    (void)fprintf(file, "%s\n%*s", head, (int)HELP_COLUMN, "");
  } else {
    (void)fprintf(file, "%-*s", (int)HELP_COLUMN, head);
  }
  print_wrapped(file, help, HELP_COLUMN, HELP_COLUMN);
}

void
options_print_help(FILE* file, const options_program* p)
{
  for (uint32_t i = 0; p->forms[i]; ++i) {
    (void)fprintf(file, "%s %s %s\n", i ? "      " : "Usage:", p->name,
                  p->forms[i]);
  }
  print_wrapped(file, p->summary, 0, 0);
  for (uint32_t i = 0; p->details[i]; ++i) {
    (void)fputc('\n', file);
    print_wrapped(file, p->details[i], 0, 0);
  }
  (void)fputc('\n', file);
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    const option_row* const row = &p->rows[i];
    print_row(file, row->letter, row->name, row->argument, row->help);
  }
  print_row(file, '\0', "help", NULL, "print this help");
  print_row(file, '\0', "version", NULL, "print the version");
  (void)fputc('\n', file);
  print_wrapped(file, p->status, 0, 0);
}
