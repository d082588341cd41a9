// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane_facts.h"

#include "presets-demo/render/program/alloc.h"

static void
pack_flag(pack* p, bool* is)
{
  uint32_t number = *is;
  pack_small(p, &number);
  *is = number != 0;
}

static void
pack_lines(pack* p, take_lines* lines)
{
  pack_small(p, &lines->n);
  p->has_failed = p->has_failed || lines->n > TAKE_MAX_LINES;
  for (uint32_t i = 0; !p->has_failed && i < lines->n; ++i) {
    take_line* const line = &lines->lines[i];
    pack_text(p, line->kind, sizeof(line->kind));
    pack_text(p, line->unit, sizeof(line->unit));
    pack_numbers(p, &line->at_s, 1);
    pack_numbers(p, &line->value, 1);
    pack_text(p, line->text, sizeof(line->text));
  }
}

static void
pack_mend(pack* p, audio_mend* mend)
{
  uint32_t channels = (uint32_t)mend->channels;
  pack_small(p, &channels);
  p->has_failed  = p->has_failed || channels > MEND_RIGHT_ONLY;
  mend->channels = p->has_failed ? MEND_ALL_CHANNELS : (mend_channels)channels;
  pack_samples(p, mend->dc, 2);
}

void
lane_facts_head(pack* p, take_result* take, listen_levels* levels)
{
  pack_lines(p, &take->lines);
  pack_mend(p, &take->mend);
  pack_numbers(p, &take->align_db, 1);
  pack_flag(p, &take->has_playing);
  pack_small(p, &levels->n);
  levels->power =
    pack_room(p, levels->power, levels->n, sizeof(*levels->power));
  pack_numbers(p, levels->power, levels->n);
}

static void
pack_signal(pack* p, signal_figures* f)
{
  pack_numbers(p, &f->level_db, 1);
  pack_numbers(p, &f->peak_db, 1);
  pack_numbers(p, &f->crest_db, 1);
  pack_numbers(p, &f->lufs, 1);
  pack_numbers(p, f->bands_db, SPECTRUM_N_BANDS);
}

static void
pack_stage(pack* p, chain_stats* s)
{
  pack_numbers(p, &s->in_db, 1);
  pack_numbers(p, &s->out_db, 1);
  pack_numbers(p, &s->peak_db, 1);
  pack_numbers(p, &s->reduction_mean_db, 1);
  pack_numbers(p, &s->reduction_max_db, 1);
  pack_small(p, &s->latency_frames);
  pack_numbers(p, &s->time_s, 1);
}

static void
pack_series(pack* p, time_series* s)
{
  pack_numbers(p, &s->step_s, 1);
  pack_small(p, &s->n);
  s->values = pack_room(p, s->values, s->n, sizeof(*s->values));
  pack_numbers(p, s->values, s->n);
}

static void
pack_clip(pack* p, listen_clip* c)
{
  pack_count(p, &c->from);
  pack_small(p, &c->n);
  pack_small(p, &c->n_channels);
  p->has_failed = p->has_failed || c->n_channels > 2;
  for (uint32_t k = 0; !p->has_failed && k < c->n_channels; ++k) {
    c->x[k] = pack_room(p, c->x[k], c->n, sizeof(float));
    pack_samples(p, c->x[k], c->n);
  }
}

/// Makes room for what is read
static void
prepare(lane* l)
{
  const uint32_t      n = lane_n_stages(l);
  lane_figures* const f = &l->figures;
  f->joints             = alloc_new((size_t)n + 1, sizeof(*f->joints));
  f->stages             = alloc_new(n, sizeof(*f->stages));
  l->reductions         = alloc_new(n, sizeof(*l->reductions));
  l->clips              = alloc_new((size_t)n + 1, sizeof(*l->clips));
  for (uint32_t i = 0; i < n; ++i) {
    f->stages[i].stem = l->setup.stages[i].part->stem;
  }
}

void
lane_facts_pack(pack* p, lane* l)
{
  const uint32_t      n = lane_n_stages(l);
  lane_figures* const f = &l->figures;
  if (p->is_reading) {
    prepare(l);
  }
  pack_small(p, &f->latency_frames);
  pack_count(p, &f->n_played);
  for (uint32_t i = 0; i < n; ++i) {
    pack_stage(p, &f->stages[i]);
    pack_series(p, &l->reductions[i]);
  }
  for (uint32_t i = 0; i <= n; ++i) {
    pack_signal(p, &f->joints[i]);
    pack_clip(p, &l->clips[i]);
  }
}
