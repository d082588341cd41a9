// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_options.h"

#include "presets-demo/render/host/catalogue.h"

#include <unistd.h>

#define MAX_THREADS 64

static const char* const forms[]   = {"[OPTION]... SESSION -o FOLDER",
                                      "[OPTION]... SESSION --only TRACK", NULL};
static const char* const details[] = {
  "FOLDER gets mix.wav, stems/ (each track dry and treated, each send, the "
  "input of the bus) and report.html. All files line up to the sample: latency "
  "is taken out. FOLDER is written completely or not at all; one that this "
  "program wrote before is replaced.",
  "With a cache, a folder of rendered tracks, those are taken from there whose "
  "recording, setup and plugins are as they were, to the same bits; those that "
  "are played are kept there. --only fills it, from any number of processes at "
  "once, and --assemble mixes what is in it.",
  NULL};

static const option_row rows[] = {
  {.name     = "output",
   .letter   = 'o',
   .argument = "FOLDER",
   .help     = "the folder to write",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(session_options, out)},
  {.name   = "json",
   .help   = "also write the figures of the report to report.json",
   .kind   = OPTION_FLAG,
   .offset = offsetof(session_options, json)},
  {.name     = "threads",
   .argument = "N",
   .help   = "number of threads, 1 to 64; default: one per processor. The mix "
             "is the same to the bit.",
   .kind   = OPTION_WHOLE,
   .min    = 1.0,
   .max    = MAX_THREADS,
   .offset = offsetof(session_options, n_threads)},
  {.name     = "bundle",
   .argument = "DIR",
   .help     = CATALOGUE_FOLDER_HELP,
   .kind     = OPTION_TEXT,
   .offset   = offsetof(session_options, bundle)},
  {.name   = "watch",
   .help   = "go on: render again whenever the session, a setup, its base or a "
             "take has changed, until Ctrl+C",
   .kind   = OPTION_FLAG,
   .offset = offsetof(session_options, is_watching)},
  {.name     = "cache",
   .argument = "DIR",
   .help   = "folder of rendered tracks; default: that of the session, or none",
   .kind   = OPTION_TEXT,
   .offset = offsetof(session_options, cache)},
  {.name     = "only",
   .argument = "TRACK",
   .help     = "render this track into the cache and mix nothing; may be given "
               "several times",
   .kind     = OPTION_NAMES,
   .offset   = offsetof(session_options, only)},
  {.name   = "assemble",
   .help   = "mix what --only has rendered; fail if a track is missing",
   .kind   = OPTION_FLAG,
   .offset = offsetof(session_options, is_assembled)},
  {.name   = "quiet",
   .help   = "print warnings and errors only",
   .kind   = OPTION_FLAG,
   .offset = offsetof(session_options, is_quiet)},
};

const options_program session_program = {
  .name    = PROGRAM,
  .version = VERSION,
  .forms   = forms,
  .summary = "Play all tracks of a session through their setups, the sends and "
             "the bus.",
  .details = details,
  .status =
    "Exit status: 0 if FOLDER was written, even if the table could not be "
    "printed, or if each TRACK is in the cache, 1 after an error, 2 if the "
    "command line is wrong.",
  .rows   = rows,
  .n_rows = sizeof(rows) / sizeof(rows[0]),
};

static uint32_t
processors(void)
{
  const long n = sysconf(_SC_NPROCESSORS_ONLN);
  return n < 1 ? 1 : n > MAX_THREADS ? MAX_THREADS : (uint32_t)n;
}

/// What does not go together
static bool
check(const session_options* o, failure* f)
{
  if (!o->only.n) {
    return o->out || fail_with(f, "no output folder; expected -o FOLDER");
  }
  const char* const other = o->out            ? "-o"
                            : o->is_assembled ? "--assemble"
                            : o->is_watching  ? "--watch"
                            : o->json         ? "--json"
                                              : NULL;
  return !other || fail_with(f,
                             "%s with --only, which renders tracks and mixes "
                             "nothing; expected one of them",
                             other);
}

options_result
session_options_parse(session_options* o, int argc, char** argv, failure* f)
{
  options_words words;
  *o = (session_options){.n_threads = processors()};
  const options_result result =
    options_parse(&session_program, o, argc, argv, &words, f);
  return result != OPTIONS_GO ||
             (options_take_word(&words, "SESSION", "session", &o->session, f) &&
              check(o, f))
           ? result
           : OPTIONS_WRONG;
}
