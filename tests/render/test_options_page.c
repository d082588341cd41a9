// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The manual page and the completion of a table of options.  The page is what
/// man(7) and man-pages(7) ask for; pages.sh has others read those of the
/// programs.  bash itself says what it completes.

#include "tests/support/check.h"

#include "presets-demo/render/program/options_page.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* const forms[] = {"[OPTION]... IN -o OUT", "--from DIR",
                                    NULL};
// A sentence could begin with what roff takes for a request
static const char* const details[] = {".wav files\\", "'tis", NULL};
static const char* const sizes[]   = {"small", "large", "huge", NULL};

static const option_row rows[] = {
  {.name     = "output",
   .letter   = 'o',
   .argument = "OUT",
   .help     = "what to write",
   .kind     = OPTION_TEXT},
  {.name = "from", .argument = "DIR", .help = "a folder", .kind = OPTION_TEXT},
  {.name     = "threads",
   .letter   = 't',
   .argument = "N",
   .help     = "a whole number",
   .kind     = OPTION_WHOLE},
  {.name     = "size-of-everything",
   .argument = "WORD",
   .help     = "a choice",
   .kind     = OPTION_CHOICE,
   .choices  = sizes},
  {.name = "tame", .help = "a flag", .kind = OPTION_FLAG},
};

static const options_program program = {
  .name    = "a-program",
  .version = "1.2.3",
  .forms   = forms,
  .summary = "Do something.",
  .details = details,
  .status  = "Exit status: 0.",
  .rows    = rows,
  .n_rows  = sizeof(rows) / sizeof(rows[0]),
};

/// What a printer prints, to be freed
static char*
printed(void (*print)(FILE*))
{
  char*       text = NULL;
  size_t      size = 0;
  FILE* const f    = open_memstream(&text, &size);
  assert_non_null(f);
  print(f);
  assert_int_equal(fclose(f), 0);
  return text;
}

static void
print_page(FILE* f)
{
  static const char* const others[] = {"a-program", "b", "c-d", NULL};
  options_program          p        = program;
  p.n_rows                          = 1;
  options_print_page(f, &p, others);
}

static void
page_is_made_from_the_table(void** state)
{
  (void)state;
  static const char want[] =
    ".TH A-PROGRAM 1 \"\" \"Dustcap 1.2.3\" \"User Commands\"\n"
    ".nh\n"
    ".ad l\n"
    ".SH NAME\n"
    "a\\-program \\- do something\n"
    ".SH SYNOPSIS\n"
    "\\fBa\\-program\\fR [\\fIOPTION\\fR]... \\fIIN\\fR \\fB\\-o\\fR "
    "\\fIOUT\\fR\n"
    ".br\n"
    "\\fBa\\-program\\fR \\fB\\-\\-from\\fR \\fIDIR\\fR\n"
    ".SH DESCRIPTION\n"
    "Do something.\n"
    ".PP\n"
    "\\&.wav files\\e\n"
    ".PP\n"
    "\\&'tis\n"
    ".SH OPTIONS\n"
    ".TP\n"
    "\\fB\\-o\\fR, \\fB\\-\\-output\\fR \\fIOUT\\fR\n"
    "what to write\n"
    ".TP\n"
    "\\fB\\-\\-help\\fR\n"
    "print the help\n"
    ".TP\n"
    "\\fB\\-\\-version\\fR\n"
    "print the version\n"
    ".SH EXIT STATUS\n"
    "0.\n"
    ".SH SEE ALSO\n"
    "\\fBb\\fR(1),\n"
    "\\fBc\\-d\\fR(1)\n";
  char* const text = printed(print_page);
  assert_string_equal(text, want);
  free(text);
}

static void
print_completion(FILE* f)
{
  options_print_completion(f, &program);
}

/// What bash completes with the script, in a folder with takes/ and take.wav.
/// `line` is the words so far, "@" an empty one.
static void
check_completion(const char* script, const char* line, const char* want)
{
  static const char setting[] =
    "dir=$(mktemp -d) && trap \"rm -r $dir\" EXIT && cd $dir && mkdir takes && "
    "touch take.wav && source /dev/stdin || exit; "
    "COMP_WORDS=(${0%@}); [[ $0 != *@ ]] || COMP_WORDS+=(\"\"); "
    "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _a_program; "
    "printf \"%s\\n\" \"${COMPREPLY[@]}\" | LC_ALL=C sort | tr \"\\n\" \" \"";
  char command[4096];
  char answer[512] = "";
  (void)snprintf(command, sizeof(command),
                 "bash -c '%s' '%s' <<\\END\n%s\nEND\n", setting, line, script);
  FILE* const shell = popen(command, "r"); // NOLINT(cert-env33-c)
  assert_non_null(shell);
  (void)!fread(answer, 1, sizeof(answer) - 1, shell);
  assert_int_equal(pclose(shell), 0);
  if (strcmp(answer, want) != 0) {
    fail_msg("%s: %s\nwant %s", line, answer, want);
  }
}

static void
shell_completes_from_the_table(void** state)
{
  (void)state;
  char* const script = printed(print_completion);
  check_completion(script, "a-program --t", "--tame --threads ");
  check_completion(script, "a-program --h", "--help ");
  check_completion(script, "a-program in --size-of-everything @",
                   "huge large small ");
  check_completion(script, "a-program --size-of-everything = hu", "huge ");
  check_completion(script,
                   "a-program --size-of-everything =", "huge large small ");
  check_completion(script, "a-program -t @", " "); // A number
  check_completion(script, "a-program --tame t", "take.wav takes ");
  check_completion(script, "a-program -o take.", "take.wav ");
  check_completion(script, "a-program --from t", "takes "); // A folder
  free(script);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(page_is_made_from_the_table),
    cmocka_unit_test(shell_completes_from_the_table),
  };
  return cmocka_run_group_tests_name("options-page", tests, NULL, NULL);
}
