// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_options.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>

enum { EXIT_USAGE = 2 };

static const char usage[] =
  "Usage: dustcap-presets [OPTION]... SETUP...\n"
  "       dustcap-presets --check FOLDER\n"
  "Make LV2 presets of setups, so that any host recalls them by name.\n"
  "\n"
  "Of each SETUP (a .ini file) a bank is made, called as the file is, with "
  "one\n"
  "preset for each of its stages.  They go into the bundle\n"
  "" USER_BUNDLE ", which holds the setups named and no others: one\n"
  "that was there before is replaced as a whole.\n"
  "\n"
  "  -o, --output FOLDER\n"
  "                  where to put the bundle; default: the user's LV2 folder,\n"
  "                  ~/.lv2\n"
  "  --check FOLDER  tell which presets of a bundle do not fit the plugins\n"
  "  --factory FOLDER\n"
  "                  write presets.ttl into a folder, and append to its\n"
  "                  manifest.ttl: the bundle's own presets\n"
  "  --bundle DIR    the folder of the plugins; default: the one built with\n"
  "                  this program, or else the one on the LV2 path\n"
  "  --help, --version\n"
  "\n"
  "Exit status: 0 when all is well, 1 when a setup or preset does not fit or\n"
  "the bundle could not be made, 2 when the command line is wrong.\n";

enum { OPT_CHECK = 256, OPT_FACTORY, OPT_BUNDLE, OPT_HELP, OPT_VERSION };

static const struct option long_options[] = {
  {"output", required_argument, NULL, 'o'},
  {"check", required_argument, NULL, OPT_CHECK},
  {"factory", required_argument, NULL, OPT_FACTORY},
  {"bundle", required_argument, NULL, OPT_BUNDLE},
  {"help", no_argument, NULL, OPT_HELP},
  {"version", no_argument, NULL, OPT_VERSION},
  {NULL, 0, NULL, 0},
};

int
preset_options_parse(preset_options* o, int argc, char** argv, failure* f)
{
  opterr = 0;
  for (int option = 0;
       (option = getopt_long(argc, argv, ":o:", long_options, NULL)) != -1;) {
    const char* const word = argv[optind - 1];
    switch (option) {
      case 'o':
        o->out = optarg;
        break;
      case OPT_CHECK:
        o->check = optarg;
        break;
      case OPT_FACTORY:
        o->factory = optarg;
        break;
      case OPT_BUNDLE:
        o->bundle = optarg;
        break;
      case OPT_HELP:
      case OPT_VERSION:
        (void)fputs(option == OPT_HELP ? usage : PROGRAM " " VERSION "\n",
                    stdout);
        return EXIT_SUCCESS;
      case ':':
        (void)fail_with(f, "%s: expected a word behind it", word);
        return EXIT_USAGE;
      default:
        (void)fail_with(f, "unknown option %s; try --help", word);
        return EXIT_USAGE;
    }
  }
  o->setups   = argv + optind;
  o->n_setups = (uint32_t)(argc - optind);
  if (!o->n_setups == !o->check) {
    (void)fail_with(f, "%s",
                    o->check ? "setups and --check; expected one of both"
                             : "no setup; expected one or more .ini files");
    return EXIT_USAGE;
  }
  return -1;
}
