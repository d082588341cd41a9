// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "rendering.h"

#include "presets-demo/render/program/path.h"
#include "take_page.h"

#include <math.h>
#include <stdlib.h>

/// What is written must not take the place of what is read
static bool
check_not_same(const rendering* r, const char* out, failure* f)
{
  if (path_is_same(r->options->in, out)) {
    return fail_with(f, "%s: is the input; expected another file to write",
                     out);
  }
  for (uint32_t i = 0; i < r->setup.n_files; ++i) {
    if (path_is_same(r->setup.files[i], out)) {
      return fail_with(f, "%s: is the setup %s; expected another file to write",
                       out, r->setup.files[i]);
    }
  }
  return true;
}

bool
rendering_open_chain(rendering* r, failure* f)
{
  const render_options* const o = r->options;
  r->in = audio_in_open_mended(o->in, o->rate_hz, &r->take.mend, f);
  if (!r->in) {
    return false;
  }
  const audio_in_info info = audio_in_get_info(r->in);
  r->chain = chain_new(r->host, r->setup.stages, r->setup.n_stages,
                       info.n_channels, info.rate_hz, f);
  if (!r->chain) {
    return false;
  }
  r->loudness = joint_loudness_new(r->chain, info.rate_hz, o->compare);
  return true;
}

void
rendering_close_chain(rendering* r)
{
  joint_loudness_free(r->loudness);
  chain_free(r->chain);
  audio_in_close(r->in);
  r->loudness = NULL;
  r->chain    = NULL;
  r->in       = NULL;
}

/// Opens a file of `n_channels`, as long as the recording and the tail
static audio_out*
open_out(const rendering* r, const char* path, uint32_t n_channels, failure* f)
{
  const render_options* const o      = r->options;
  const audio_in_info         info   = audio_in_get_info(r->in);
  const int64_t               n_tail = llround(o->tail_s * info.rate_hz);
  const audio_out_spec        spec   = {
             .path       = path,
             .n_channels = n_channels,
             .rate_hz    = info.rate_hz,
             .samples    = o->samples,
             .n_frames   = info.n_frames < 0 ? -1 : info.n_frames + n_tail,
  };
  return check_not_same(r, path, f) ? audio_out_open(&spec, f) : NULL;
}

static bool
open_outputs(rendering* r, failure* f)
{
  const render_options* const o = r->options;
  r->out                        = open_out(r, o->out, chain_n_out(r->chain), f);
  if (r->out && o->compare) {
    r->dry = open_out(r, r->dry_path, audio_in_get_info(r->in).n_channels, f);
  }
  if (r->out && o->report && check_not_same(r, r->page_path, f)) {
    r->page = whole_file_open(r->page_path, f);
  }
  return r->out && (r->dry || !o->compare) && (r->page || !o->report);
}

static void
abandon_outputs(rendering* r)
{
  audio_out_abandon(r->out);
  audio_out_abandon(r->dry);
  whole_file_abandon(r->page);
  r->out  = NULL;
  r->dry  = NULL;
  r->page = NULL;
}

bool
rendering_open(rendering* r, failure* f)
{
  const render_options* const o = r->options;
  if (!catalogue_open(&r->parts, catalogue_folder(o->bundle), f) ||
      !setup_load(&r->setup, o->setup, &r->parts, f)) {
    return false;
  }
  r->host = host_new(r->parts.world);
  if (!rendering_open_chain(r, f)) {
    return false;
  }
  r->dry_path  = o->compare ? compare_dry_path(o->out) : NULL;
  r->page_path = o->report ? take_page_path(o->out) : NULL;
  return open_outputs(r, f);
}

bool
rendering_mend(rendering* r, failure* f)
{
  if (!audio_mend_changes(&r->take.mend)) {
    return true;
  }
  rendering_close_chain(r);
  abandon_outputs(r);
  return rendering_open_chain(r, f) && open_outputs(r, f);
}

void
rendering_close(rendering* r)
{
  abandon_outputs(r);
  free(r->dry_path);
  free(r->page_path);
  rendering_close_chain(r);
  host_free(r->host);
  setup_clear(&r->setup);
  catalogue_close(&r->parts);
}
