// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// ears BUNDLE_FOLDER SETUP_FOLDER [TAKE...]: what is heard of dry guitars and
/// of the track setups, in figures, beside what real guitars and recorded
/// amplifiers show.  Takes are files; the model's own are always measured.  It
/// judges nothing: a value that misses what must be gets a "!", no more.

#include "ears_dry.h"
#include "ears_finished.h"
#include "ears_under.h"
#include "presets-demo/render/program/output.h"
#include "presets-demo/render/program/path.h"

#include <stdio.h>
#include <stdlib.h>

static bool
print_take(const ears_rig*   r,
           const char*       name,
           const ears_sound* playing,
           bool              is_our_lead,
           failure*          f)
{
  (void)printf("\n== %s\n", name);
  ears_print_dry(playing, is_our_lead);
  const bool ok = ears_print_finished(r, playing, f);
  (void)fflush(stdout); // It takes a while
  return ok;
}

/// All files are read before any is played: a bad one is told at once
static bool
read_takes(ears_sound* takes, char** paths, int n, failure* f)
{
  bool ok = true;
  for (int i = 0; ok && i < n; ++i) {
    ok = ears_sound_read(&takes[i], paths[i], f);
  }
  return ok;
}

/// What lies under the hearing, of up to two takes and of the model's
static bool
print_under(const ears_rig*   r,
            const ears_sound* takes,
            char**            paths,
            int               n,
            failure*          f)
{
  enum { MOST = 2 };
  const char* names[MOST + 2];
  ears_sound  all[MOST + 2];
  const int   n_files = n < MOST ? n : MOST;
  for (int i = 0; i < n_files; ++i) {
    names[i] = path_name(paths[i]);
    all[i]   = takes[i];
  }
  static const take OURS[] = {TAKE_RHYTHM_LEFT, TAKE_LEAD};
  for (int i = 0; i < 2; ++i) {
    names[n_files + i] = take_name(OURS[i]);
    all[n_files + i]   = ears_sound_take(OURS[i]);
  }
  const bool ok = ears_print_under(r, all, names, (size_t)n_files + 2, f);
  ears_sound_free(&all[n_files]);
  ears_sound_free(&all[n_files + 1]);
  return ok;
}

static bool
print_all(const ears_rig*   r,
          const ears_sound* takes,
          char**            paths,
          int               n,
          failure*          f)
{
  static const take OURS[] = {TAKE_RHYTHM_LEFT, TAKE_LEAD};
  bool              ok     = true;
  (void)printf("dB unless a unit says otherwise; ! misses what must be\n");
  for (int i = 0; ok && i < n; ++i) {
    ok = print_take(r, path_name(paths[i]), &takes[i], false, f);
  }
  for (size_t i = 0; ok && i < sizeof(OURS) / sizeof(OURS[0]); ++i) {
    char       name[64];
    ears_sound ours = ears_sound_take(OURS[i]);
    (void)snprintf(name, sizeof(name), "the model's %s", take_name(OURS[i]));
    ok = print_take(r, name, &ours, OURS[i] == TAKE_LEAD, f);
    ears_sound_free(&ours);
  }
  if (ok) {
    ears_print_notes();
    ok = ears_print_drive(r, f) && ears_print_chords(r, f) &&
         print_under(r, takes, paths, n, f);
  }
  return ok && output_is_printed(f);
}

int
main(int argc, char** argv)
{
  if (argc < 3) {
    (void)fprintf(stderr, "usage: ears BUNDLE_FOLDER SETUP_FOLDER [TAKE...]\n");
    return 2;
  }
  const int   n     = argc - 3;
  ears_sound* takes = calloc((size_t)n + 1, sizeof(*takes));
  failure     f     = {""};
  ears_rig    r;
  bool        ok = takes && ears_rig_open(&r, argv[1], argv[2], &f) &&
            read_takes(takes, argv + 3, n, &f) &&
            print_all(&r, takes, argv + 3, n, &f);
  if (!ok) {
    (void)fprintf(stderr, "ears: %s\n", takes ? f.text : "out of memory");
  }
  if (takes) {
    ears_rig_close(&r);
    for (int i = 0; i < n; ++i) {
      ears_sound_free(&takes[i]);
    }
  }
  free(takes);
  return ok ? 0 : 1;
}
