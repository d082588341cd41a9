// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "track_key.h"

#include "presets-demo/render/program/path.h"

#include <unistd.h>

#define THIS_PROGRAM "/proc/self/exe"

/// Changes with what a key is made from
#define KEY_VERSION "dustcap track 1"

/// The files of the bundle, one after the other
typedef struct {
  digest*                      d;
  const volatile sig_atomic_t* stop;
  failure*                     f;
} file_digest;

static bool
add_file(void* user, const char* path)
{
  const file_digest* const w = user;
  digest_add_text(w->d, path_name(path));
  return digest_add_file(w->d, path, w->stop, w->f);
}

/// Adds the version of the C library, which libm is part of
static void
add_system(digest* d)
{
#ifdef _CS_GNU_LIBC_VERSION
  char version[64] = "";
  (void)confstr(_CS_GNU_LIBC_VERSION, version, sizeof(version));
  digest_add_text(d, version);
#else
  (void)d;
#endif
}

bool
track_key_program(digest_value*                to,
                  const catalogue*             parts,
                  const volatile sig_atomic_t* stop,
                  failure*                     f)
{
  file_digest w = {digest_new(), stop, f};
  digest_add_text(w.d, KEY_VERSION);
  digest_add_text(w.d, audio_in_libraries());
  add_system(w.d);
  const bool ok = digest_add_file(w.d, THIS_PROGRAM, stop, f) &&
                  catalogue_files(parts, add_file, &w);
  *to = digest_end(w.d);
  return ok;
}

bool
track_key_recording(digest_value*                to,
                    const lane*                  l,
                    const volatile sig_atomic_t* stop,
                    failure*                     f)
{
  digest* const d  = digest_new();
  const bool    ok = digest_add_file(d, l->strip->file, stop, f);
  *to              = digest_end(d);
  return ok;
}

static void
add_stage(digest* d, const part_settings* s)
{
  const part_form* const form = &s->part->forms[0];
  digest_add_text(d, s->part->stem);
  digest_add_count(d, form->n_controls);
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    digest_add_text(d, form->controls[i].symbol);
    digest_add_number(d, (double)s->values[i]);
  }
}

digest_value
track_key(const track_key_base* base,
          digest_value          recording,
          const lane*           l,
          float                 listen_s)
{
  digest* const d = digest_new();
  digest_add_value(d, base->program);
  digest_add_value(d, recording);
  // libsndfile goes by the ending where the bytes leave it open
  digest_add_text(d, path_ending(l->strip->file));
  digest_add_number(d, base->rate_hz);
  digest_add_count(d, base->n_total);
  digest_add_count(d, base->n_kept);
  digest_add_count(d, lane_is_aligned(l));
  digest_add_count(d, l->has_clips);
  digest_add_number(d, l->has_clips ? (double)listen_s : 0.0);
  digest_add_count(d, l->setup.n_stages);
  for (uint32_t i = 0; i < l->setup.n_stages; ++i) {
    add_stage(d, &l->setup.stages[i]);
  }
  return digest_end(d);
}
