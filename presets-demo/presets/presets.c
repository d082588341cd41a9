// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-presets: setups in, presets for any LV2 host out

#include "preset_check.h"
#include "preset_turtle.h"

#include "presets-demo/render/heap.h"
#include "presets-demo/session/output_folder.h"

#include <errno.h>
#include <getopt.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PROGRAM        "dustcap-presets"
#define USER_BUNDLE    "dustcap-user-presets.lv2"
#define USER_PREFIX    "urn:dustcap:user-preset"
#define FACTORY_PREFIX "urn:dustcap:preset"

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

typedef struct {
  const char* out;
  const char* check;
  const char* factory;
  const char* bundle;
  char**      setups;
  uint32_t    n_setups;
} options;

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

/// Exit status, or -1 to go on
static int
parse(options* o, int argc, char** argv, failure* f)
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

/// The bundle asked for, the one of this build, or NULL for the LV2 path
static const char*
bundle_folder(const options* o)
{
  if (o->bundle) {
    return o->bundle;
  }
  return access(BUILD_BUNDLE "/manifest.ttl", R_OK) ? NULL : BUILD_BUNDLE;
}

static bool
check_distinct(const preset_bank* banks, uint32_t n, failure* f)
{
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < i; ++k) {
      if (!strcmp(banks[i].slug, banks[k].slug)) {
        return fail_with(f, "two setups called '%s'; expected a name for each",
                         banks[i].label);
      }
    }
  }
  return true;
}

static FILE*
open_file(const char* path, const char* mode, failure* f)
{
  FILE* const file = fopen(path, mode);
  if (!file) {
    (void)fail_with(f, "%s: cannot be written (%s)", path, strerror(errno));
  }
  return file;
}

static bool
close_file(FILE* file, const char* path, failure* f)
{
  const bool is_written = !ferror(file);
  return (!fclose(file) && is_written) ||
         fail_with(f, "%s: cannot be written (%s)", path, strerror(errno));
}

/// presets.ttl and the manifest's part of it
static bool
write_files(const char*        presets,
            const char*        manifest,
            bool               is_whole,
            const char*        prefix,
            const preset_bank* banks,
            uint32_t           n,
            failure*           f)
{
  FILE* file = open_file(presets, "w", f);
  if (!file) {
    return false;
  }
  preset_turtle_print(file, banks, n, prefix);
  if (!close_file(file, presets, f)) {
    return false;
  }
  file = open_file(manifest, is_whole ? "w" : "a", f);
  if (!file) {
    return false;
  }
  preset_manifest_print(file, banks, n, prefix, is_whole);
  return close_file(file, manifest, f);
}

static bool
write_factory(const char*        folder,
              const preset_bank* banks,
              uint32_t           n,
              failure*           f)
{
  char* const presets  = heap_print("%s/presets.ttl", folder);
  char* const manifest = heap_print("%s/manifest.ttl", folder);
  const bool  ok =
    write_files(presets, manifest, false, FACTORY_PREFIX, banks, n, f);
  free(manifest);
  free(presets);
  return ok;
}

/// The folder asked for, or ~/.lv2, made if it is not there; NULL with a
/// failure.  To be freed.
static char*
user_folder(const options* o, failure* f)
{
  const char* const home = getenv("HOME");
  if (!o->out && !home) {
    (void)fail_with(f, "there is no HOME; expected -o FOLDER");
    return NULL;
  }
  char* const path = o->out ? heap_copy(o->out) : heap_print("%s/.lv2", home);
  if (mkdir(path, 0777) && errno != EEXIST) {
    (void)fail_with(f, "%s: cannot be made (%s)", path, strerror(errno));
    free(path);
    return NULL;
  }
  return path;
}

static bool
write_user(const options* o, const preset_bank* banks, uint32_t n, failure* f)
{
  char* const folder = user_folder(o, f);
  if (!folder) {
    return false;
  }
  char* const          path = heap_print("%s/" USER_BUNDLE, folder);
  output_folder* const out  = output_folder_open(path, f);
  bool                 ok   = out != NULL;
  if (ok) {
    ok = write_files(output_folder_file(out, "presets.ttl"),
                     output_folder_file(out, "manifest.ttl"), true, USER_PREFIX,
                     banks, n, f);
    if (ok) {
      ok = output_folder_finish(out, f);
    } else {
      output_folder_abandon(out);
    }
  }
  for (uint32_t i = 0; ok && i < n; ++i) {
    const uint32_t n_stages = banks[i].setup.n_stages;
    (void)printf("%s: \"%s\" for %u stage%s\n", path, banks[i].label, n_stages,
                 n_stages == 1 ? "" : "s");
  }
  free(path);
  free(folder);
  return ok;
}

static bool
write_all(const options* o, const catalogue* parts, failure* f)
{
  preset_bank* const banks = heap_new(o->n_setups, sizeof(*banks));
  uint32_t           n     = 0;
  bool               ok    = true;
  while (ok && n < o->n_setups) {
    ok = preset_bank_load(&banks[n], o->setups[n], parts, f);
    n += ok;
  }
  ok = ok && check_distinct(banks, n, f) &&
       (o->factory ? write_factory(o->factory, banks, n, f)
                   : write_user(o, banks, n, f));
  for (uint32_t i = 0; i < n; ++i) {
    preset_bank_clear(&banks[i]);
  }
  free(banks);
  return ok;
}

static bool
check(const options* o, const catalogue* parts, failure* f)
{
  preset_counts counts;
  if (!preset_check(parts, o->check, stderr, &counts, f)) {
    return false;
  }
  if (counts.n_bad || !counts.n) {
    return fail_with(f, "%s: %u of %u presets do not fit", o->check,
                     counts.n_bad, counts.n);
  }
  (void)printf("%s: all %u presets fit\n", o->check, counts.n);
  return true;
}

int
main(int argc, char** argv)
{
  failure   f      = {""};
  options   o      = {.out = NULL};
  const int status = parse(&o, argc, argv, &f);
  if (status >= 0) {
    if (status) {
      (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
    }
    return status;
  }
  // A file at its size limit is a write error, not the end of the program
  (void)signal(SIGXFSZ, SIG_IGN);
  catalogue parts;
  bool      ok = catalogue_open(&parts, bundle_folder(&o), &f);
  if (ok) {
    ok = o.check ? check(&o, &parts, &f) : write_all(&o, &parts, &f);
    catalogue_close(&parts);
  }
  if (!ok) {
    (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
  }
  return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
