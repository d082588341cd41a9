// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_options.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define MAX_THREADS 64

static const char usage[] =
  "Usage: dustcap-session [OPTION]... SESSION -o FOLDER\n"
  "Play all tracks of a session through their setups, the sends and the bus.\n"
  "\n"
  "FOLDER becomes mix.wav, stems/ (every dry track, track, send and what goes\n"
  "into the bus) and report.html.  All files line up to the sample: latency "
  "is\n"
  "taken out.  FOLDER is there as a whole or not at all; one that this "
  "program\n"
  "wrote before is replaced.\n"
  "\n"
  "  -o, --output FOLDER\n"
  "  --json          write the figures of the report to report.json as well\n"
  "  --threads N     play tracks side by side, 1 to 64; default: as many as\n"
  "                  there are processors.  The mix is the same to the bit.\n"
  "  --bundle DIR    the folder of the plugins; default: the one built with\n"
  "                  this program, or else the one on the LV2 path\n"
  "  --quiet         print warnings and errors only\n"
  "  --help, --version\n"
  "\n"
  "Exit status: 0 when FOLDER is there, 1 when it could not be made, 2 when\n"
  "the command line is wrong.\n";

enum {
  OPT_JSON = 256,
  OPT_THREADS,
  OPT_BUNDLE,
  OPT_QUIET,
  OPT_HELP,
  OPT_VERSION
};

static const struct option long_options[] = {
  {"output", required_argument, NULL, 'o'},
  {"json", no_argument, NULL, OPT_JSON},
  {"threads", required_argument, NULL, OPT_THREADS},
  {"bundle", required_argument, NULL, OPT_BUNDLE},
  {"quiet", no_argument, NULL, OPT_QUIET},
  {"help", no_argument, NULL, OPT_HELP},
  {"version", no_argument, NULL, OPT_VERSION},
  {NULL, 0, NULL, 0},
};

static bool
parse_threads(const char* text, uint32_t* n, failure* f)
{
  char*      end    = NULL;
  const long number = strtol(text, &end, 10);
  if (end == text || *end || number < 1 || number > MAX_THREADS) {
    return fail_with(f, "--threads %s: expected a whole number from 1 to %d",
                     text, MAX_THREADS);
  }
  *n = (uint32_t)number;
  return true;
}

static bool
take_option(session_options* o, int option, failure* f)
{
  switch (option) {
    case 'o':
      o->out = optarg;
      return true;
    case OPT_JSON:
      o->json = true;
      return true;
    case OPT_THREADS:
      return parse_threads(optarg, &o->n_threads, f);
    case OPT_BUNDLE:
      o->bundle = optarg;
      return true;
    default:
      o->is_quiet = true;
      return true;
  }
}

static uint32_t
processors(void)
{
  const long n = sysconf(_SC_NPROCESSORS_ONLN);
  return n < 1 ? 1 : n > MAX_THREADS ? MAX_THREADS : (uint32_t)n;
}

static bool
take_words(session_options* o, int argc, char** argv, failure* f)
{
  if (argc - optind > 1) {
    return fail_with(f, "a second session %s; expected one", argv[optind + 1]);
  }
  o->session = optind < argc ? argv[optind] : NULL;
  return (o->session || fail_with(f, "no session; expected SESSION")) &&
         (o->out || fail_with(f, "no output folder; expected -o FOLDER"));
}

session_parse
session_options_parse(session_options* o, int argc, char** argv, failure* f)
{
  *o     = (session_options){.n_threads = processors()};
  opterr = 0;
  for (;;) {
    const int option = getopt_long(argc, argv, ":o:", long_options, NULL);
    if (option == -1) {
      break;
    }
    if (option == OPT_HELP || option == OPT_VERSION) {
      (void)fputs(option == OPT_HELP ? usage : "dustcap-session " VERSION "\n",
                  stdout);
      return SESSION_DONE;
    }
    const char* const word = argv[optind - 1];
    if (option == '?' || option == ':') {
      (void)(option == ':'
               ? fail_with(f, "%s: expected a word behind it", word)
               : fail_with(f, "unknown option %s; try --help", word));
      return SESSION_WRONG;
    }
    if (!take_option(o, option, f)) {
      return SESSION_WRONG;
    }
  }
  return take_words(o, argc, argv, f) ? SESSION_GO : SESSION_WRONG;
}
