// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "catalogue.h"

#include "part_form.h"
#include "presets-demo/render/program/alloc.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define URI_PREFIX    "urn:dustcap:"
#define STEREO_SUFFIX "-stereo"

#define BUILT_BUNDLE     "/plugins"             ///< From the build tree on
#define INSTALLED_BUNDLE "/lib/lv2/dustcap.lv2" ///< From the prefix on

static bool
has_manifest(const char* folder)
{
  char* const manifest = alloc_print("%s/manifest.ttl", folder);
  const bool  is_there = !access(manifest, R_OK);
  free(manifest);
  return is_there;
}

// lilv prints to stderr when a bundle is missing, so look first
bool
catalogue_load_bundle(LilvWorld* world, const char* folder, failure* f)
{
  char path[PATH_MAX];
  if (!realpath(folder, path)) {
    return fail_with(f, "%s: no such folder; expected an LV2 bundle", folder);
  }
  if (!has_manifest(path)) {
    return fail_with(f, "%s: has no manifest.ttl; expected an LV2 bundle",
                     folder);
  }

  char* const     with_slash = alloc_print("%s/", path);
  LilvNode* const uri        = lilv_new_file_uri(world, NULL, with_slash);
  lilv_world_load_bundle(world, uri);
  lilv_node_free(uri);
  free(with_slash);
  return true;
}

/// Returns the length of a URI's stem without the suffix of a stereo form
static size_t
stem_length(const char* stem, bool* is_stereo)
{
  const size_t length = strlen(stem);
  const size_t suffix = strlen(STEREO_SUFFIX);
  *is_stereo =
    length > suffix && !strcmp(stem + length - suffix, STEREO_SUFFIX);
  return *is_stereo ? length - suffix : length;
}

static const char*
uri_stem(const char* uri)
{
  const char* stem = uri;
  for (const char* c = uri; *c; ++c) {
    if ((*c == ':' || *c == '/' || *c == '#') && c[1]) {
      stem = c + 1;
    }
  }
  return stem;
}

static part*
part_for(catalogue* c, const char* stem, size_t length)
{
  for (uint32_t i = 0; i < c->n_parts; ++i) {
    if (strlen(c->parts[i].stem) == length &&
        !strncmp(c->parts[i].stem, stem, length)) {
      return &c->parts[i];
    }
  }
  part* const next = &c->parts[c->n_parts++];
  next->stem       = alloc_print("%.*s", (int)length, stem);
  return next;
}

static bool
add_plugin(catalogue* c, const LilvPlugin* plugin, failure* f)
{
  const char* const uri       = lilv_node_as_uri(lilv_plugin_get_uri(plugin));
  const char* const stem      = uri_stem(uri);
  bool              is_stereo = false;
  const size_t      length    = stem_length(stem, &is_stereo);
  part* const       p         = part_for(c, stem, length);
  if (p->n_forms == PART_MAX_FORMS) {
    return fail_with(f, "%s: a second plugin called '%s'", uri, stem);
  }
  // The plain form first: its controls stand for the part
  if (!is_stereo && p->n_forms) {
    p->forms[1] = p->forms[0];
  }
  part_form* const form = &p->forms[is_stereo ? p->n_forms : 0];
  ++p->n_forms;
  if (!part_form_read(form, c->world, plugin)) {
    return fail_with(f, "%s: is not a valid LV2 plugin", uri);
  }
  return true;
}

static int
by_stem(const void* a, const void* b)
{
  return strcmp(((const part*)a)->stem, ((const part*)b)->stem);
}

static bool
add_plugins(catalogue* c, const char* prefix, failure* f)
{
  const LilvPlugins* const plugins = lilv_world_get_all_plugins(c->world);
  c->parts = alloc_new(lilv_plugins_size(plugins), sizeof(*c->parts));
  LILV_FOREACH(plugins, i, plugins)
  {
    const LilvPlugin* const plugin = lilv_plugins_get(plugins, i);
    const char* const       uri = lilv_node_as_uri(lilv_plugin_get_uri(plugin));
    if (!strncmp(uri, prefix, strlen(prefix)) && !add_plugin(c, plugin, f)) {
      return false;
    }
  }
  qsort(c->parts, c->n_parts, sizeof(*c->parts), by_stem);
  return true;
}

bool
catalogue_open(catalogue* c, const char* bundle_folder, failure* f)
{
  *c      = (catalogue){.world = lilv_world_new()};
  bool ok = true;
  if (bundle_folder) {
    ok = catalogue_load_bundle(c->world, bundle_folder, f);
  } else {
    lilv_world_load_all(c->world);
  }
  ok = ok && add_plugins(c, bundle_folder ? "" : URI_PREFIX, f);
  if (ok && !c->n_parts) {
    ok =
      bundle_folder
        ? fail_with(f, "%s: holds no plugin", bundle_folder)
        : fail_with(f, "no Dustcap bundle on the LV2 path; expected --bundle");
  }
  if (!ok) {
    catalogue_close(c);
  }
  return ok;
}

/// Cuts a path off before its last name, and returns that name
static const char*
cut_name(char* path)
{
  char* const slash = strrchr(path, '/');
  if (!slash) {
    return "";
  }
  *slash = '\0';
  return slash + 1;
}

/// A program knows its bundle by where it lies itself: PREFIX/bin, or
/// presets-demo/ROOM of a build tree.  Nothing of where it was built is in it,
/// so an installed one cannot load from there.
const char*
catalogue_folder(const char* asked)
{
  static char path[PATH_MAX + sizeof(INSTALLED_BUNDLE)];
  if (asked || !realpath("/proc/self/exe", path)) {
    return asked;
  }
  (void)cut_name(path); // The program
  const bool is_installed = !strcmp(cut_name(path), "bin");
  const bool is_built =
    !is_installed && !strcmp(cut_name(path), "presets-demo");
  const size_t length = strlen(path);
  (void)snprintf(path + length, sizeof(path) - length, "%s",
                 is_installed ? INSTALLED_BUNDLE : BUILT_BUNDLE);
  return (is_installed || is_built) && has_manifest(path) ? path : NULL;
}

void
catalogue_close(catalogue* c)
{
  for (uint32_t i = 0; i < c->n_parts; ++i) {
    for (uint32_t k = 0; k < c->parts[i].n_forms; ++k) {
      part_form_clear(&c->parts[i].forms[k]);
    }
    free(c->parts[i].stem);
  }
  free(c->parts);
  lilv_world_free(c->world);
  *c = (catalogue){.world = NULL};
}

const part*
catalogue_part(const catalogue* c, const char* stem)
{
  for (uint32_t i = 0; i < c->n_parts; ++i) {
    if (!strcmp(c->parts[i].stem, stem)) {
      return &c->parts[i];
    }
  }
  return NULL;
}

setup_part
part_names(const part* p)
{
  return (setup_part){.stem       = p->stem,
                      .controls   = p->forms[0].controls,
                      .n_controls = p->forms[0].n_controls};
}

int
part_control(const part* p, const char* symbol)
{
  const setup_part names = part_names(p);
  return setup_part_control(&names, symbol);
}

bool
part_unknown_control(const part* p, const char* symbol, failure* f)
{
  const setup_part names = part_names(p);
  return setup_part_unknown(&names, symbol, f);
}
