// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "options_page.h"

#include <ctype.h>
#include <string.h>

#define STATUS_LEAD "Exit status: "

/// Prints text that roff takes as it is: "-" must not become a hyphen, which
/// one could not paste into a shell
static void
print_literal(FILE* file, const char* text, size_t length)
{
  for (size_t i = 0; i < length; ++i) {
    if (text[i] == '\\') {
      (void)fputs("\\e", file);
    } else if (text[i] == '-') {
      (void)fputs("\\-", file);
    } else {
      (void)fputc(text[i], file);
    }
  }
}

/// Prints a line of running text; one that begins with "." or "'" would be a
/// request
static void
print_text(FILE* file, const char* text)
{
  if (*text == '.' || *text == '\'') {
    (void)fputs("\\&", file);
  }
  print_literal(file, text, strlen(text));
  (void)fputc('\n', file);
}

static void
print_in_font(FILE* file, char font, const char* text, size_t length)
{
  (void)fprintf(file, "\\f%c", font);
  print_literal(file, text, length);
  (void)fputs("\\fR", file);
}

/// Prints a form of the command: options bold, what stands for something else
/// slanted
static void
print_form(FILE* file, const char* name, const char* form)
{
  print_in_font(file, 'B', name, strlen(name));
  (void)fputc(' ', file);
  while (*form) {
    const size_t word = strspn(form, "ABCDEFGHIJKLMNOPQRSTUVWXYZ");
    const size_t option =
      *form == '-' ? strspn(form, "-abcdefghijklmnopqrstuvwxyz") : 0;
    const size_t length = word ? word : option ? option : 1;
    if (word || option) {
      print_in_font(file, word ? 'I' : 'B', form, length);
    } else {
      print_literal(file, form, length);
    }
    form += length;
  }
  (void)fputc('\n', file);
}

static void
print_title(FILE* file, const options_program* p)
{
  (void)fputs(".TH ", file);
  for (const char* c = p->name; *c; ++c) {
    (void)fputc(toupper((unsigned char)*c), file);
  }
  (void)fprintf(file, " 1 \"\" \"Dustcap %s\" \"User Commands\"\n", p->version);
  (void)fputs(".nh\n.ad l\n", file); // Names stay whole
}

/// Prints what the program does as man(7) and its index want it: "play ..."
static void
print_name(FILE* file, const options_program* p)
{
  const size_t length = strlen(p->summary);
  (void)fputs(".SH NAME\n", file);
  print_literal(file, p->name, strlen(p->name));
  (void)fprintf(file, " \\- %c", tolower((unsigned char)p->summary[0]));
  print_literal(file, p->summary + 1,
                length - 1 - (p->summary[length - 1] == '.'));
  (void)fputc('\n', file);
}

static void
print_option(FILE*       file,
             char        letter,
             const char* name,
             const char* argument,
             const char* help)
{
  (void)fputs(".TP\n", file);
  if (letter) {
    (void)fprintf(file, "\\fB\\-%c\\fR, ", letter);
  }
  (void)fputs("\\fB\\-\\-", file);
  print_literal(file, name, strlen(name));
  (void)fputs("\\fR", file);
  if (argument) {
    (void)fputc(' ', file);
    print_in_font(file, 'I', argument, strlen(argument));
  }
  (void)fputc('\n', file);
  print_text(file, help);
}

static void
print_see_also(FILE* file, const char* name, const char* const* others)
{
  const char* lead = ".SH SEE ALSO\n";
  for (; *others; ++others) {
    if (strcmp(*others, name) != 0) {
      (void)fputs(lead, file);
      print_in_font(file, 'B', *others, strlen(*others));
      (void)fputs("(1)", file);
      lead = ",\n";
    }
  }
  if (*lead == ',') {
    (void)fputc('\n', file);
  }
}

void
options_print_page(FILE*                  file,
                   const options_program* p,
                   const char* const*     others)
{
  print_title(file, p);
  print_name(file, p);
  (void)fputs(".SH SYNOPSIS\n", file);
  for (uint32_t i = 0; p->forms[i]; ++i) {
    (void)fputs(i ? ".br\n" : "", file);
    print_form(file, p->name, p->forms[i]);
  }
  (void)fputs(".SH DESCRIPTION\n", file);
  print_text(file, p->summary);
  for (uint32_t i = 0; p->details[i]; ++i) {
    (void)fputs(".PP\n", file);
    print_text(file, p->details[i]);
  }
  (void)fputs(".SH OPTIONS\n", file);
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    const option_row* const row = &p->rows[i];
    print_option(file, row->letter, row->name, row->argument, row->help);
  }
  print_option(file, '\0', "help", NULL, "print the help");
  print_option(file, '\0', "version", NULL, "print the version");
  (void)fputs(".SH EXIT STATUS\n", file);
  const bool has_lead = !strncmp(p->status, STATUS_LEAD, strlen(STATUS_LEAD));
  print_text(file, p->status + (has_lead ? strlen(STATUS_LEAD) : 0));
  print_see_also(file, p->name, others);
}
