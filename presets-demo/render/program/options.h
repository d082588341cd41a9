// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of a program, as a table: parser, help and error messages
/// all come from it, so they cannot disagree.
///
/// Options and words may stand in any order, a long name may be abbreviated
/// while it is unique, and all that follows "--" are words.  --help and
/// --version need no row.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H
#define PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H

#include "plugins/text/failure.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/// The argument of an option, and the type of the member that it sets
typedef enum {
  OPTION_FLAG,   ///< Nothing: a bool becomes true
  OPTION_TEXT,   ///< A const char*, which points into argv
  OPTION_NUMBER, ///< A double from `min` to `max`
  OPTION_WHOLE,  ///< A uint32_t from `min` to `max`
  OPTION_CHOICE, ///< One of `choices`: an enum that counts them from 0
  OPTION_NAMES,  ///< An options_names: one more each time
} option_kind;

/// The arguments of an option that may be given several times, in their order.
/// They point into argv; free() the list.
typedef struct {
  const char** names;
  uint32_t     n;
} options_names;

typedef struct {
  const char*        name;     ///< Without the "--"
  const char*        argument; ///< Its name in the help; NULL for a flag
  const char*        help;     ///< Its effect, without line breaks
  const char*        needed;   ///< What is missing without it; NULL if optional
  double             min;
  double             max;
  const char* const* choices; ///< Ended by NULL
  size_t             offset;  ///< Of the member
  option_kind        kind;
  char               letter; ///< The short name, 0 without one
} option_row;

/// Texts are sentences without line breaks
typedef struct {
  const char*        name;
  const char*        version;
  const char* const* forms;   ///< What follows the name, ended by NULL
  const char*        summary; ///< What the program does
  const char* const* details; ///< Paragraphs, ended by NULL
  const char*        status;  ///< Meaning of each exit status
  const option_row*  rows;
  uint32_t           n_rows; ///< At most OPTIONS_MAX_ROWS
} options_program;

#define OPTIONS_MAX_ROWS 30U

typedef enum {
  OPTIONS_GO,
  OPTIONS_DONE,  ///< Help or version was asked for and printed
  OPTIONS_WRONG, ///< Invalid command line; the failure says why
} options_result;

/// The words that are no options
typedef struct {
  char**   words;
  uint32_t n;
} options_words;

/// Sets the members of `target` that the options name; leaves others alone.
/// Check for needed ones by options_check_needed().
options_result
options_parse(const options_program* p,
              void*                  target,
              int                    argc,
              char**                 argv,
              options_words*         words,
              failure*               f);

/// Takes the only word; returns false if there is none, or another.  `argument`
/// is its name in the help, `what` says what it is.
bool
options_take_word(const options_words* words,
                  const char*          argument,
                  const char*          what,
                  const char**         word,
                  failure*             f);

/// Returns true if each needed OPTION_TEXT of `target` is set
bool
options_check_needed(const options_program* p, const void* target, failure* f);

/// Returns the exit status after a `result` other than OPTIONS_GO: 0, 1 if the
/// help could not be printed, or 2.  Prints the failure.
int
options_leave(const options_program* p, options_result result, failure* f);

/// Prints the help, in lines of at most 79 characters
void
options_print_help(FILE* file, const options_program* p);

#endif // PRESETS_DEMO_RENDER_PROGRAM_OPTIONS_H
