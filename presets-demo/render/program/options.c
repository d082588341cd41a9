// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "options.h"

#include "alloc.h"
#include "output.h"

#include "plugins/text/spelling.h"

#include <assert.h>
#include <getopt.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EXIT_USAGE = 2 };

/// Values for getopt_long(): above all letters; ROW_VALUE plus a row's number
enum { HELP_VALUE = 256, VERSION_VALUE, ROW_VALUE };

/// The table as getopt_long() takes it
typedef struct {
  struct option options[OPTIONS_MAX_ROWS + 3];
  char          letters[2 * OPTIONS_MAX_ROWS + 2];
} getopt_tables;

static void
fill_tables(getopt_tables* t, const options_program* p)
{
  assert(p->n_rows <= OPTIONS_MAX_ROWS);
  char*    letter = t->letters;
  uint32_t n      = 0;
  *letter++       = ':'; // Tell a missing argument from an unknown option
  for (; n < p->n_rows; ++n) {
    const option_row* const row = &p->rows[n];
    t->options[n]               = (struct option){
                    row->name, row->argument ? required_argument : no_argument, NULL,
                    ROW_VALUE + (int)n};
    if (row->letter) {
      *letter++ = row->letter;
      *letter   = ':';
      letter += row->argument != NULL;
    }
  }
  *letter       = '\0';
  t->options[n] = (struct option){"help", no_argument, NULL, HELP_VALUE};
  t->options[n + 1] =
    (struct option){"version", no_argument, NULL, VERSION_VALUE};
  t->options[n + 2] = (struct option){NULL, 0, NULL, 0};
}

/// Returns NULL if no row has that value
static const option_row*
row_of(const options_program* p, int value)
{
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    if (value == ROW_VALUE + (int)i || (value && value == p->rows[i].letter)) {
      return &p->rows[i];
    }
  }
  return NULL;
}

static bool
take_number(const option_row* row, const char* text, void* member, failure* f)
{
  const bool   is_whole = row->kind == OPTION_WHOLE;
  char*        end      = NULL;
  const double number   = strtod(text, &end);
  if (end == text || *end || !(number >= row->min && number <= row->max) ||
      (is_whole && number != floor(number))) {
    return fail_with(f, "--%s %s: expected a %snumber from %g to %g", row->name,
                     text, is_whole ? "whole " : "", row->min, row->max);
  }
  if (is_whole) {
    *(uint32_t*)member = (uint32_t)number;
  } else {
    *(double*)member = number;
  }
  return true;
}

static bool
take_choice(const option_row* row, const char* text, void* member, failure* f)
{
  char     list[256] = "";
  unsigned n         = 0;
  for (; row->choices[n]; ++n) {
    if (!strcmp(text, row->choices[n])) {
      memcpy(member, &n, sizeof(n));
      return true;
    }
    const size_t used = strlen(list);
    (void)snprintf(list + used, sizeof(list) - used, "%s%s",
                   !n                    ? ""
                   : row->choices[n + 1] ? ", "
                                         : " or ",
                   row->choices[n]);
  }
  return fail_with(f, "--%s %s: expected %s", row->name, text, list);
}

static void
take_name(const char* text, options_names* l)
{
  l->names         = alloc_grow(l->names, l->n + 1, sizeof(*l->names));
  l->names[l->n++] = text;
}

static bool
take_argument(const option_row* row, const char* text, void* target, failure* f)
{
  void* const member = (char*)target + row->offset;
  switch (row->kind) {
    case OPTION_TEXT:
      *(const char**)member = text;
      return true;
    case OPTION_NUMBER:
    case OPTION_WHOLE:
      return take_number(row, text, member, f);
    case OPTION_CHOICE:
      return take_choice(row, text, member, f);
    case OPTION_NAMES:
      take_name(text, member);
      return true;
    case OPTION_FLAG:
    default:
      *(bool*)member = true;
      return true;
  }
}

/// Names the option that was probably meant, if one is near
static bool
fail_unknown(const options_program* p, const char* word, failure* f)
{
  const char* known[OPTIONS_MAX_ROWS + 2] = {"help", "version"};
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    known[i + 2] = p->rows[i].name;
  }
  const bool is_long  = !strncmp(word, "--", 2);
  char       name[64] = "";
  if (is_long) {
    (void)snprintf(name, sizeof(name), "%.*s", (int)strcspn(word + 2, "="),
                   word + 2);
  }
  const char* const near =
    is_long ? spelling_nearest(name, known, p->n_rows + 2) : NULL;
  return near
           ? fail_with(f, "unknown option %s; did you mean --%s?", word, near)
           : fail_with(f, "unknown option %s; try --help", word);
}

/// Reports '?' or ':' of getopt_long(), which leaves in optopt a letter, the
/// value of a known long option, or 0
static bool
fail_option(const options_program* p, int result, const char* word, failure* f)
{
  const char        letter[] = {'-', (char)optopt, '\0'};
  const bool        is_short = optopt > 0 && optopt < HELP_VALUE;
  const char* const shown    = is_short ? letter : word;
  if (result == ':') {
    return fail_with(f, "%s: needs an argument", shown);
  }
  return optopt && !is_short ? fail_with(f, "%s: takes no argument", word)
                             : fail_unknown(p, shown, f);
}

options_result
options_parse(const options_program* p,
              void*                  target,
              int                    argc,
              char**                 argv,
              options_words*         words,
              failure*               f)
{
  getopt_tables t = {.letters = ""};
  fill_tables(&t, p);
  opterr = 0;
  optind = 0; // Forget an earlier parse
  for (int value = 0;
       (value = getopt_long(argc, argv, t.letters, t.options, NULL)) != -1;) {
    if (value == HELP_VALUE) {
      options_print_help(stdout, p);
      return OPTIONS_DONE;
    }
    if (value == VERSION_VALUE) {
      (void)printf("%s %s\n", p->name, p->version);
      return OPTIONS_DONE;
    }
    const option_row* const row = row_of(p, value);
    if (!(row ? take_argument(row, optarg, target, f)
              : fail_option(p, value, argv[optind - 1], f))) {
      return OPTIONS_WRONG;
    }
  }
  *words = (options_words){argv + optind, (uint32_t)(argc - optind)};
  return OPTIONS_GO;
}

bool
options_take_word(const options_words* words,
                  const char*          argument,
                  const char*          what,
                  const char**         word,
                  failure*             f)
{
  if (!words->n) {
    return fail_with(f, "no %s; expected %s", what, argument);
  }
  *word = words->words[0];
  return words->n == 1 ||
         fail_with(f, "a second %s %s; expected one", what, words->words[1]);
}

bool
options_check_needed(const options_program* p, const void* target, failure* f)
{
  for (uint32_t i = 0; i < p->n_rows; ++i) {
    const option_row* const row    = &p->rows[i];
    const void* const       member = (const char*)target + row->offset;
    if (row->needed && !*(const char* const*)member) {
      const char letter[] = {row->letter, '\0'};
      return fail_with(f, "no %s; expected -%s%s %s", row->needed,
                       row->letter ? "" : "-", row->letter ? letter : row->name,
                       row->argument);
    }
  }
  return true;
}

int
options_leave(const options_program* p, options_result result, failure* f)
{
  const bool is_done = result == OPTIONS_DONE;
  if (is_done && output_is_printed(f)) {
    return EXIT_SUCCESS;
  }
  (void)fprintf(stderr, "%s: %s\n", p->name, f->text);
  return is_done ? EXIT_FAILURE : EXIT_USAGE;
}
