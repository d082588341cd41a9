// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of a program, as a table: the parser, the help and the
/// lines about mistakes are all made from it, so they cannot disagree.
///
/// Options and words may stand in any order, a long name may be cut short while
/// it is unique, and what follows "--" is a word.  --help and --version need no
/// row.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H
#define PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H

#include "failure.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/// What an option takes, and the type of the member that it sets
typedef enum {
  OPTION_FLAG,   ///< Nothing: a bool becomes true
  OPTION_TEXT,   ///< A const char*, which points into argv
  OPTION_NUMBER, ///< A double from `min` to `max`
  OPTION_WHOLE,  ///< A uint32_t from `min` to `max`
  OPTION_CHOICE, ///< One of `choices`: an enum that counts them from 0
} option_kind;

typedef struct {
  const char*        name;     ///< Without the "--"
  const char*        argument; ///< What the help calls it; NULL for a flag
  const char*        help;     ///< What it does, without line breaks
  const char*        needed;   ///< What is missing without it; NULL if optional
  double             min;
  double             max;
  const char* const* choices; ///< Up to a NULL
  size_t             offset;  ///< Of the member
  option_kind        kind;
  char               letter; ///< The short name, 0 without one
} option_row;

/// Texts are sentences without line breaks
typedef struct {
  const char*        name;
  const char*        version;
  const char* const* forms;   ///< What follows the name, up to a NULL
  const char*        summary; ///< What the program does
  const char* const* details; ///< Paragraphs, up to a NULL
  const char*        status;  ///< What each exit status means
  const option_row*  rows;
  uint32_t           n_rows; ///< At most OPTIONS_MAX_ROWS
} options_program;

#define OPTIONS_MAX_ROWS 30U

typedef enum {
  OPTIONS_GO,
  OPTIONS_DONE,  ///< Help or version was asked for, and printed
  OPTIONS_WRONG, ///< Not a command line; the failure says why
} options_result;

/// What is no option
typedef struct {
  char**   words;
  uint32_t n;
} options_words;

/// Set the members of `target` that the options name; others stay as they are.
/// Whether all needed ones are there is for options_check_needed() to say.
options_result
options_parse(const options_program* p,
              void*                  target,
              int                    argc,
              char**                 argv,
              options_words*         words,
              failure*               f);

/// The only word; false if there is none, or another.  `argument` is what the
/// help calls it, `what` what it is.
bool
options_take_word(const options_words* words,
                  const char*          argument,
                  const char*          what,
                  const char**         word,
                  failure*             f);

/// Whether each needed OPTION_TEXT of `target` is set
bool
options_check_needed(const options_program* p, const void* target, failure* f);

/// Exit status of a program that ends here, which is not OPTIONS_GO: 0, 1 if
/// the help could not be printed, or 2.  Prints the failure.
int
options_leave(const options_program* p, options_result result, failure* f);

/// The help, in lines of at most 79 characters
void
options_print_help(FILE* file, const options_program* p);

#endif // PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H
