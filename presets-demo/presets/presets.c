// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-presets: setups in, presets for any LV2 host out

#include "preset_check.h"
#include "preset_options.h"
#include "preset_turtle.h"
#include "preset_values.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/output.h"
#include "presets-demo/render/program/printable.h"
#include "presets-demo/render/program/signals.h"
#include "presets-demo/render/program/whole_file.h"
#include "presets-demo/render/program/whole_folder.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define USER_PREFIX    "urn:dustcap:user-preset"
#define FACTORY_PREFIX "urn:dustcap:preset"

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

/// What a file holds, if it is there, into another one
static bool
copy_text(const char* from, FILE* to, failure* f)
{
  FILE* const file = fopen(from, "rb");
  if (!file) {
    return errno == ENOENT ||
           fail_with(f, "%s: %s; expected a manifest", from, strerror(errno));
  }
  char   bytes[4096];
  size_t n  = 0;
  bool   ok = true;
  while (ok && (n = fread(bytes, 1, sizeof(bytes), file)) > 0) {
    ok = fwrite(bytes, 1, n, to) == n;
  }
  ok = !ferror(file) && !fflush(to) && ok;
  (void)fclose(file);
  return ok || fail_with(f, "%s: cannot be copied (%s)", from, strerror(errno));
}

/// Both files are new or both old
static bool
write_factory(const char*        folder,
              const preset_bank* banks,
              uint32_t           n,
              failure*           f)
{
  char* const       presets_path  = alloc_print("%s/presets.ttl", folder);
  char* const       manifest_path = alloc_print("%s/manifest.ttl", folder);
  whole_file* const presets       = whole_file_open(presets_path, f);
  whole_file* const manifest =
    presets ? whole_file_open(manifest_path, f) : NULL;
  bool ok = manifest &&
            preset_turtle_write(whole_file_part(presets), banks, n,
                                FACTORY_PREFIX, f) &&
            copy_text(manifest_path, whole_file_stream(manifest), f) &&
            preset_manifest_write(whole_file_part(manifest), true, banks, n,
                                  FACTORY_PREFIX, f);
  if (ok) {
    ok = whole_file_finish_both(presets, manifest, f);
  } else {
    whole_file_abandon(presets);
    whole_file_abandon(manifest);
  }
  free(manifest_path);
  free(presets_path);
  return ok;
}

/// Returns the folder asked for, or ~/.lv2, created if missing; NULL with a
/// failure.  free() it.
static char*
user_folder(const preset_options* o, failure* f)
{
  const char* const home = getenv("HOME");
  if (!o->out && !home) {
    (void)fail_with(f, "HOME is not set; expected -o FOLDER");
    return NULL;
  }
  char* const path = o->out ? alloc_copy(o->out) : alloc_print("%s/.lv2", home);
  if (mkdir(path, 0777) && errno != EEXIST) {
    (void)fail_with(f, "%s: cannot be created (%s)", path, strerror(errno));
    free(path);
    return NULL;
  }
  return path;
}

/// No setup may go with the bundle that is replaced
static bool
check_inputs(const char*        bundle,
             const preset_bank* banks,
             uint32_t           n,
             failure*           f)
{
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < banks[i].setup.n_files; ++k) {
      const char* const file = banks[i].setup.files[k];
      if (!whole_folder_spares(bundle, file, f)) {
        const failure what = *f;
        return fail_with(f, "%s: %s", file, what.text);
      }
    }
  }
  return true;
}

static bool
write_user(const preset_options* o,
           const preset_bank*    banks,
           uint32_t              n,
           failure*              f)
{
  char* const folder = user_folder(o, f);
  if (!folder) {
    return false;
  }
  char* const         path = alloc_print("%s/" USER_BUNDLE, folder);
  whole_folder* const out =
    check_inputs(path, banks, n, f) ? whole_folder_open(path, f) : NULL;
  bool ok = out != NULL;
  if (ok) {
    ok = preset_turtle_write(whole_folder_file(out, "presets.ttl"), banks, n,
                             USER_PREFIX, f) &&
         preset_manifest_write(whole_folder_file(out, "manifest.ttl"), false,
                               banks, n, USER_PREFIX, f);
    if (ok) {
      ok = whole_folder_finish(out, f);
    } else {
      whole_folder_abandon(out);
    }
  }
  for (uint32_t i = 0; ok && i < n; ++i) {
    const uint32_t n_stages = banks[i].setup.n_stages;
    printable_print(stdout, "%s: \"%s\" for %u stage%s\n", path, banks[i].label,
                    n_stages, n_stages == 1 ? "" : "s");
  }
  free(path);
  free(folder);
  return ok;
}

static bool
write_all(const preset_options* o, const catalogue* parts, failure* f)
{
  preset_bank* const banks = alloc_new(o->setups.n, sizeof(*banks));
  uint32_t           n     = 0;
  bool               ok    = true;
  while (ok && n < o->setups.n) {
    ok = preset_bank_load(&banks[n], o->setups.words[n], parts, f);
    n += ok;
  }
  ok = ok && check_distinct(banks, n, f) &&
       (o->factory ? write_factory(o->factory, banks, n, f)
                   : write_user(o, banks, n, f));
  for (uint32_t i = 0; i < n; ++i) {
    if (ok) {
      preset_values_print_left_out(stdout, o->setups.words[i], &banks[i].setup);
    }
    preset_bank_clear(&banks[i]);
  }
  free(banks);
  return ok;
}

static bool
check(const preset_options* o, const catalogue* parts, failure* f)
{
  preset_counts counts;
  if (!preset_check(parts, o->check, stderr, &counts, f)) {
    return false;
  }
  if (!counts.n) {
    return fail_with(f,
                     "%s: adds no presets to the plugins; expected a bundle "
                     "of presets",
                     o->check);
  }
  if (counts.n_bad) {
    return fail_with(f, "%s: %u of %u presets do not fit", o->check,
                     counts.n_bad, counts.n);
  }
  printable_print(stdout, "%s: all %u presets fit\n", o->check, counts.n);
  return true;
}

int
main(int argc, char** argv)
{
  failure              f = {""};
  preset_options       o;
  const options_result result = preset_options_parse(&o, argc, argv, &f);
  if (result != OPTIONS_GO) {
    return options_leave(&presets_program, result, &f);
  }
  signals_hold(); // Output is written completely or not at all
  catalogue parts;
  bool      ok = catalogue_open(&parts, catalogue_folder(o.bundle), &f);
  if (ok) {
    ok = o.check ? check(&o, &parts, &f) : write_all(&o, &parts, &f);
    catalogue_close(&parts);
  }
  if (!ok) {
    (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
  } else if (!output_is_printed(&f)) {
    // A check is nothing but what it says
    (void)fprintf(stderr, PROGRAM ": %s%s\n",
                  o.check ? "" : "warning: the presets are complete; ", f.text);
    ok = !o.check;
  }
  return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
