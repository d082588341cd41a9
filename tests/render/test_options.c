// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The table of options: what a command line sets, the message for a wrong one,
/// and that the help lists every row.  The rules are those of POSIX 1003.1
/// chapter 12.2 (guidelines 3 to 10) and, for long names, common practice.

#include "tests/support/check.h"

#include "presets-demo/render/program/options.h"

#include <stdio.h>
#include <string.h>

#define MAX_WORDS 12

typedef enum { SMALL, LARGE, HUGE_ONE } size_choice;

typedef struct {
  const char* out;
  const char* from;
  double      tail_s;
  uint32_t    threads;
  size_choice size;
  bool        json;
  bool        is_quiet;
} target;

static const char* const forms[]   = {"[OPTION]... IN -o OUT", "--from DIR",
                                      NULL};
static const char* const details[] = {"A paragraph that is long enough to need "
                                      "two lines, as the first of them ends "
                                      "somewhere in here.",
                                      NULL};
static const char* const sizes[]   = {"small", "large", "huge", NULL};

static const option_row rows[] = {
  {.name     = "output",
   .letter   = 'o',
   .argument = "OUT",
   .help     = "what to write",
   .needed   = "output",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(target, out)},
  {.name     = "from",
   .argument = "DIR",
   .help     = "a folder",
   .needed   = "folder",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(target, from)},
  {.name     = "tail",
   .argument = "SECONDS",
   .help     = "a number",
   .kind     = OPTION_NUMBER,
   .min      = -1.5,
   .max      = 60.0,
   .offset   = offsetof(target, tail_s)},
  {.name     = "threads",
   .letter   = 't',
   .argument = "N",
   .help     = "a whole number, explained in so many words that they do not "
               "fit into one line",
   .kind     = OPTION_WHOLE,
   .min      = 1.0,
   .max      = 64.0,
   .offset   = offsetof(target, threads)},
  {.name     = "size-of-everything",
   .argument = "WORD",
   .help     = "a choice",
   .kind     = OPTION_CHOICE,
   .choices  = sizes,
   .offset   = offsetof(target, size)},
  {.name   = "json",
   .letter = 'j',
   .help   = "a flag",
   .kind   = OPTION_FLAG,
   .offset = offsetof(target, json)},
  {.name   = "quiet",
   .help   = "another flag",
   .kind   = OPTION_FLAG,
   .offset = offsetof(target, is_quiet)},
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

static target        set;
static options_words words;
static failure       why;

/// Parses words separated by spaces
static options_result
parse(const char* line)
{
  static char  copy[256];
  static char* argv[MAX_WORDS + 2];
  int          argc = 0;
  (void)snprintf(copy, sizeof(copy), "a-program %s", line);
  for (char* word = strtok(copy, " "); word; word = strtok(NULL, " ")) {
    assert_true(argc < MAX_WORDS);
    argv[argc++] = word;
  }
  argv[argc] = NULL;
  set        = (target){.tail_s = 7.0, .threads = 3};
  why        = (failure){""};
  return options_parse(&program, &set, argc, argv, &words, &why);
}

static void
every_kind_is_set(void** state)
{
  (void)state;
  assert_int_equal(parse(""), OPTIONS_GO);
  assert_int_equal(words.n, 0);
  assert_true(set.tail_s == 7.0 && set.threads == 3 && !set.json);

  assert_int_equal(parse("in --output out --tail -1.5 --threads 64 --json "
                         "--size-of-everything huge"),
                   OPTIONS_GO);
  assert_string_equal(set.out, "out");
  assert_true(set.tail_s == -1.5);
  assert_int_equal(set.threads, 64);
  assert_int_equal(set.size, HUGE_ONE);
  assert_true(set.json);
  assert_false(set.is_quiet);
  assert_null(set.from);
  assert_int_equal(words.n, 1);
  assert_string_equal(words.words[0], "in");
}

static void
names_may_be_written_in_all_ways(void** state)
{
  (void)state;
  static const char* const lines[] = {
    "-o out -j -t 2 in",        "-oout -jt2 in",
    "in -jo out -t2",           "--output=out --json --threads=2 in",
    "--out out in --th 2 --js", "-o out -j -t 9 -t 2 in",
    "-o out -t 2 -j -- in",
  };
  for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); ++i) {
    if (parse(lines[i]) != OPTIONS_GO || strcmp(set.out, "out") != 0 ||
        set.threads != 2 || !set.json || words.n != 1 ||
        strcmp(words.words[0], "in") != 0) {
      fail_msg("%s: %s", lines[i], why.text);
    }
  }
  assert_int_equal(parse("a -- -o --json -"), OPTIONS_GO);
  assert_int_equal(words.n, 4);
  assert_string_equal(words.words[1], "-o");
  assert_null(set.out);
  assert_false(set.json);
}

static void
check_wrong(const char* line, const char* want)
{
  if (parse(line) != OPTIONS_WRONG || strcmp(why.text, want) != 0) {
    fail_msg("%s: %s\nwant %s", line, why.text, want);
  }
}

static void
mistakes_are_told(void** state)
{
  (void)state;
  check_wrong("--output", "--output: needs an argument");
  check_wrong("in -jo", "-o: needs an argument");
  check_wrong("-x", "unknown option -x; try --help");
  check_wrong("-jx", "unknown option -x; try --help");
  check_wrong("--ouptut out",
              "unknown option --ouptut; did you mean --output?");
  check_wrong("--jsno=3", "unknown option --jsno=3; did you mean --json?");
  check_wrong("--halp", "unknown option --halp; did you mean --help?");
  check_wrong("--elephant", "unknown option --elephant; try --help");
  check_wrong("--t 3", "unknown option --t; try --help"); // Tail or threads
  check_wrong("--json=3", "--json=3: takes no argument");
  check_wrong("--help=3", "--help=3: takes no argument");
  check_wrong("--tail 60.1", "--tail 60.1: expected a number from -1.5 to 60");
  check_wrong("--tail nan", "--tail nan: expected a number from -1.5 to 60");
  check_wrong("--tail 1s", "--tail 1s: expected a number from -1.5 to 60");
  check_wrong("--tail=", "--tail : expected a number from -1.5 to 60");
  check_wrong("-t 0", "--threads 0: expected a whole number from 1 to 64");
  check_wrong("-t 1.5", "--threads 1.5: expected a whole number from 1 to 64");
  check_wrong("-t inf", "--threads inf: expected a whole number from 1 to 64");
  check_wrong("--size-of-everything vast",
              "--size-of-everything vast: expected small, large or huge");
}

static void
what_is_missing_is_told(void** state)
{
  (void)state;
  const char* word = NULL;
  assert_int_equal(parse("--from a"), OPTIONS_GO);
  assert_false(options_check_needed(&program, &set, &why));
  assert_string_equal(why.text, "no output; expected -o OUT");
  assert_false(options_take_word(&words, "IN", "input file", &word, &why));
  assert_string_equal(why.text, "no input file; expected IN");
  assert_int_equal(parse("-o out"), OPTIONS_GO);
  assert_false(options_check_needed(&program, &set, &why));
  assert_string_equal(why.text, "no folder; expected --from DIR");
  assert_int_equal(parse("a b"), OPTIONS_GO);
  assert_false(options_take_word(&words, "IN", "input file", &word, &why));
  assert_string_equal(why.text, "a second input file b; expected one");
  assert_int_equal(parse("a -o b --from c"), OPTIONS_GO);
  assert_true(options_take_word(&words, "IN", "input file", &word, &why));
  assert_string_equal(word, "a");
  assert_true(options_check_needed(&program, &set, &why));
}

static void
help_is_made_from_the_table(void** state)
{
  (void)state;
  static const char want[] =
    "Usage: a-program [OPTION]... IN -o OUT\n"
    "       a-program --from DIR\n"
    "Do something.\n"
    "\n"
    "A paragraph that is long enough to need two lines, as the first of them "
    "ends\n"
    "somewhere in here.\n"
    "\n"
    "  -o, --output OUT     what to write\n"
    "  --from DIR           a folder\n"
    "  --tail SECONDS       a number\n"
    "  -t, --threads N      a whole number, explained in so many words that "
    "they do\n"
    "                       not fit into one line\n"
    "  --size-of-everything WORD\n"
    "                       a choice\n"
    "  -j, --json           a flag\n"
    "  --quiet              another flag\n"
    "  --help               print this help\n"
    "  --version            print the version\n"
    "\n"
    "Exit status: 0.\n";
  char*       text = NULL;
  size_t      size = 0;
  FILE* const f    = open_memstream(&text, &size);
  assert_non_null(f);
  options_print_help(f, &program);
  assert_int_equal(fclose(f), 0);
  assert_string_equal(text, want);
  free(text);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(every_kind_is_set),
    cmocka_unit_test(names_may_be_written_in_all_ways),
    cmocka_unit_test(mistakes_are_told),
    cmocka_unit_test(what_is_missing_is_told),
    cmocka_unit_test(help_is_made_from_the_table),
  };
  return cmocka_run_group_tests_name("options", tests, NULL, NULL);
}
