// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_inputs.h"

#include "plugins/setup/setup_lines.h"
#include "presets-demo/render/program/whole_folder.h"

#include <string.h>

/// "file:line: key = path: what is wrong"
static bool
fail_at(const session* s,
        uint32_t       line,
        const char*    key,
        const char*    path,
        failure*       f)
{
  const failure what = *f;
  (void)fail_with(f, "%s = %s: %s", key, path, what.text);
  return setup_lines_fail_at(s->path, line, f);
}

/// A setup with all that it is based on
static bool
check_setup(const session*       s,
            const session_strip* strip,
            const catalogue*     parts,
            const char*          folder,
            failure*             f)
{
  const char* const path = strip->setup;
  setup             read;
  if (!setup_load(&read, path, parts, f)) {
    return false;
  }
  bool ok = true;
  for (uint32_t i = 0; ok && i < read.n_files; ++i) {
    const char* const file = read.files[i];
    ok                     = !folder || whole_folder_spares(folder, file, f);
    if (!ok && strcmp(file, path) != 0) {
      const failure what = *f;
      (void)fail_with(f, "its base %s %s", file, what.text);
    }
  }
  setup_clear(&read);
  return ok || fail_at(s, strip->setup_line, "setup", path, f);
}

static bool
check_strip(const session*       s,
            const session_strip* strip,
            const catalogue*     parts,
            const char*          folder,
            failure*             f)
{
  if (strip->file && folder && !whole_folder_spares(folder, strip->file, f)) {
    return fail_at(s, strip->file_line, "file", strip->file, f);
  }
  return !strip->setup || check_setup(s, strip, parts, folder, f);
}

bool
session_inputs_check(const session*   s,
                     const catalogue* parts,
                     const char*      folder,
                     failure*         f)
{
  if (folder && !whole_folder_spares(folder, s->path, f)) {
    const failure what = *f;
    return fail_with(f, "%s: %s", s->path, what.text);
  }
  const session_output* const o = &s->output;
  if (folder && o->cache && !whole_folder_spares(folder, o->cache, f)) {
    return fail_at(s, o->cache_line, "cache", o->cache, f);
  }
  bool ok = true;
  for (uint32_t i = 0; ok && i < s->n_tracks; ++i) {
    ok = check_strip(s, &s->tracks[i], parts, folder, f);
  }
  for (uint32_t i = 0; ok && i < SESSION_N_SENDS; ++i) {
    ok = check_strip(s, &s->sends[i], parts, folder, f);
  }
  return ok && check_strip(s, &s->bus, parts, folder, f);
}
