// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_options.h"

#include "presets-demo/render/host/catalogue.h"

static const char* const forms[]   = {"[OPTION]... SETUP...", "--check FOLDER",
                                      NULL};
static const char* const details[] = {
  "Each SETUP (an .ini file) becomes a bank named after the file, with one "
  "preset for each of its stages. They go into the bundle " USER_BUNDLE
  ", which then holds these setups and no others: an older one is replaced.",
  NULL};

static const option_row rows[] = {
  {.name     = "output",
   .letter   = 'o',
   .argument = "FOLDER",
   .help     = "folder for the bundle; default: the user's LV2 folder, ~/.lv2",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(preset_options, out)},
  {.name     = "check",
   .argument = "FOLDER",
   .help     = "list the presets of a bundle that do not fit the plugins",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(preset_options, check)},
  {.name     = "factory",
   .argument = "FOLDER",
   .help     = "write the factory presets: presets.ttl into a folder, and an "
               "addition to its manifest.ttl",
   .kind     = OPTION_TEXT,
   .offset   = offsetof(preset_options, factory)},
  {.name     = "bundle",
   .argument = "DIR",
   .help     = CATALOGUE_FOLDER_HELP,
   .kind     = OPTION_TEXT,
   .offset   = offsetof(preset_options, bundle)},
};

const options_program presets_program = {
  .name    = PROGRAM,
  .version = VERSION,
  .forms   = forms,
  .summary =
    "Make LV2 presets from setups, so that any host recalls them by name.",
  .details = details,
  .status =
    "Exit status: 0 if all is well, 1 if a setup or preset does not fit or "
    "the bundle was not written, 2 if the command line is wrong.",
  .rows   = rows,
  .n_rows = sizeof(rows) / sizeof(rows[0]),
};

options_result
preset_options_parse(preset_options* o, int argc, char** argv, failure* f)
{
  *o = (preset_options){.out = NULL};
  const options_result result =
    options_parse(&presets_program, o, argc, argv, &o->setups, f);
  if (result == OPTIONS_GO && !o->setups.n == !o->check) {
    (void)fail_with(f, "%s",
                    o->check ? "setups and --check; expected one of them"
                             : "no setup; expected one or more .ini files");
    return OPTIONS_WRONG;
  }
  return result;
}
