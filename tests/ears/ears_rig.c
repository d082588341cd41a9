// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_rig.h"

#include "presets-demo/render/host/chain.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char* const NAMES[EARS_N_SETUPS] = {
  "rhythm", "heavy-rhythm", "lead", "solo", "clean-double", "acoustic"};

const char*
ears_setup_name(ears_setup which)
{
  return NAMES[which];
}

bool
ears_rig_open(ears_rig*   r,
              const char* bundle_folder,
              const char* setup_folder,
              failure*    f)
{
  *r = (ears_rig){.host = NULL};
  if (!catalogue_open(&r->parts, bundle_folder, f)) {
    return false;
  }
  r->host = host_new(r->parts.world);
  bool ok = true;
  for (int k = 0; ok && k < EARS_N_SETUPS; ++k) {
    char* const path = alloc_print("%s/%s.ini", setup_folder, NAMES[k]);
    ok               = setup_load(&r->setups[k], path, &r->parts, f);
    free(path);
  }
  return ok;
}

void
ears_rig_close(ears_rig* r)
{
  for (int k = 0; k < EARS_N_SETUPS; ++k) {
    setup_clear(&r->setups[k]);
  }
  host_free(r->host);
  catalogue_close(&r->parts);
}

/// Position of a stage in a setup; n_stages without
static uint32_t
stage_at(const setup* s, const char* stem)
{
  uint32_t i = 0;
  while (i < s->n_stages && strcmp(s->stages[i].part->stem, stem) != 0) {
    ++i;
  }
  return i;
}

float*
ears_control(const ears_rig* r,
             ears_setup      which,
             const char*     stem,
             const char*     symbol)
{
  const setup* const s = &r->setups[which];
  const uint32_t     i = stage_at(s, stem);
  if (i == s->n_stages) {
    return NULL;
  }
  const int control = part_control(s->stages[i].part, symbol);
  return control < 0 ? NULL : &s->stages[i].values[control];
}

uint32_t
ears_stages_before_speaker(const ears_rig* r, ears_setup which)
{
  const setup* const s = &r->setups[which];
  const uint32_t     i = stage_at(s, "speaker-breakup");
  return i < s->n_stages ? i : stage_at(s, "proximity-lift");
}

/// Play through a chain, `out` being as long as `in`
static bool
run(chain* c, const ears_sound* in, double gain_db, float* out, failure* f)
{
  float        memory[PART_MAX_CHANNELS][HOST_BLOCK_FRAMES];
  float* const x[PART_MAX_CHANNELS] = {memory[0], memory[1]};
  const size_t latency              = chain_latency_frames(c);
  const float  gain                 = (float)pow(10.0, gain_db / 20.0);
  for (size_t at = 0; at < in->n + latency; at += HOST_BLOCK_FRAMES) {
    for (size_t i = 0; i < HOST_BLOCK_FRAMES; ++i) {
      x[0][i] = at + i < in->n ? gain * in->x[at + i] : 0.0F;
    }
    if (!chain_run(c, (const float* const*)x, x, HOST_BLOCK_FRAMES, f)) {
      return false;
    }
    for (size_t i = 0; i < HOST_BLOCK_FRAMES; ++i) {
      if (at + i >= latency && at + i - latency < in->n) {
        out[at + i - latency] = x[0][i];
      }
    }
  }
  return true;
}

ears_sound
ears_play(const ears_rig*   r,
          ears_setup        which,
          uint32_t          n_stages,
          double            gain_db,
          const ears_sound* in,
          failure*          f)
{
  const setup* const s = &r->setups[which];
  return ears_play_stages(r, s->stages,
                          n_stages < s->n_stages ? n_stages : s->n_stages,
                          gain_db, in, f);
}

ears_sound
ears_play_stages(const ears_rig*      r,
                 const part_settings* stages,
                 uint32_t             n_stages,
                 double               gain_db,
                 const ears_sound*    in,
                 failure*             f)
{
  chain* const c   = chain_new(r->host, stages, n_stages, 1, EARS_RATE_HZ, f);
  ears_sound   out = {NULL, 0};
  if (c && chain_n_out(c) != 1) {
    (void)fail_with(f, "%s: has two outputs; expected a stage of a track",
                    stages[n_stages - 1].part->stem);
  } else if (c) {
    out = ears_sound_new(in->n);
    if (!run(c, in, gain_db, out.x, f)) {
      ears_sound_free(&out);
    }
  }
  chain_free(c);
  return out;
}

double
ears_align_db(const ears_rig*   r,
              ears_setup        which,
              const ears_sound* in,
              failure*          f)
{
  const setup* const s = &r->setups[which];
  const uint32_t     i = stage_at(s, "di-cleanup");
  if (!s->align || i == s->n_stages) {
    return 0.0;
  }
  chain* const c   = chain_new(r->host, &s->stages[i], 1, 1, EARS_RATE_HZ, f);
  double       db  = (double)NAN;
  ears_sound   out = ears_sound_new(in->n);
  if (c && run(c, in, 0.0, out.x, f)) {
    db = chain_meter(c, 0, "align_db");
  }
  ears_sound_free(&out);
  chain_free(c);
  return db;
}
