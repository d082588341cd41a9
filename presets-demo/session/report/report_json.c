// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report_json.h"

#include "json.h"
#include "stage_figures.h"

#include <math.h>

static void
print_spectrum(json* j, const char* key, const signal_figures* f)
{
  json_numbers(j, key, f->bands_db, SPECTRUM_N_BANDS);
}

static void
print_figures(json* j, const stage_figures* f)
{
  json_text(j, "name", f->name);
  json_number(j, "in_db", f->in_db);
  json_number(j, "out_db", f->out_db);
  json_number(j, "in_lufs", f->in_lufs);
  json_number(j, "out_lufs", f->out_lufs);
  json_number(j, "change_lu", f->change_lu);
  json_number(j, "peak_db", f->peak_db);
  json_number(j, "crest_db", f->crest_db);
  json_number(j, "crest_change_db", f->crest_change_db);
  json_number(j, "reduction_mean_db", f->reduction_mean_db);
  json_number(j, "reduction_max_db", f->reduction_max_db);
  json_number(j, "latency_frames", f->latency_frames);
  json_number(j, "cost_pc", f->cost_pc);
}

static void
print_stage(json* j, const lane* l, uint32_t i)
{
  const stage_figures      f       = stage_figures_of_stage(l, i);
  const time_series* const changes = &l->reductions[i];
  json_open(j, NULL, '{');
  print_figures(j, &f);
  print_spectrum(j, "spectrum_in_db", &l->figures.joints[i]);
  print_spectrum(j, "spectrum_out_db", &l->figures.joints[i + 1]);
  const bool has = !isnan(stage_figures_max(changes));
  json_numbers(j, "reduction_db", changes->values, has ? changes->n : 0);
  json_close(j, '}');
}

static void
print_take(json* j, const take_lines* lines)
{
  json_open(j, "take_checks", '[');
  for (uint32_t i = 0; i < lines->n; ++i) {
    const take_line* const line = &lines->lines[i];
    json_open(j, NULL, '{');
    json_text(j, "kind", line->kind);
    json_number(j, "at_s", line->at_s);
    json_number(j, "value", line->value);
    json_text(j, "unit", line->unit);
    json_text(j, "text", line->text);
    json_close(j, '}');
  }
  json_close(j, ']');
}

static void
print_lane(json* j, const lane* l)
{
  const session_strip* const s     = l->strip;
  const stage_figures        whole = stage_figures_of_setup(l);
  json_open(j, NULL, '{');
  json_text(j, "kind", stage_figures_kind(l));
  json_text(j, "name", s->name);
  json_text(j, "slug", s->slug);
  json_text(j, "file", s->file);
  json_text(j, "setup", s->setup);
  if (l->in) {
    print_take(j, &l->take.lines);
  }
  json_number(j, "align_db", l->take.align_db);
  json_number(j, "gain_db", (double)s->gain_db);
  json_number(j, "pan", (double)s->pan);
  for (uint32_t k = 0; l->in && k < SESSION_N_SENDS; ++k) {
    char key[32];
    (void)snprintf(key, sizeof(key), "%s_db", session_send_names[k]);
    const double db = (double)s->send_db[k];
    json_number(j, key, db > (double)SESSION_OFF_DB ? db : (double)NAN);
  }
  json_number(j, "out_db", l->figures.out.level_db);
  json_number(j, "out_lufs", l->figures.out.lufs);
  json_number(j, "out_peak_db", l->figures.out.peak_db);
  json_open(j, "setup_figures", '{');
  print_figures(j, &whole);
  json_close(j, '}');
  json_open(j, "stages", '[');
  for (uint32_t i = 0; i < lane_n_stages(l); ++i) {
    print_stage(j, l, i);
  }
  json_close(j, ']');
  json_close(j, '}');
}

static void
print_mix(json* j, const mixdown* m)
{
  const lane* const           bus  = mixdown_bus(m);
  const signal_figures* const f    = &bus->figures.out;
  const stereo_image* const   i    = mixdown_image(m);
  const signal_figures        mono = probe_figures(&i->mono);
  json_open(j, "mix", '{');
  json_number(j, "loudness_lufs", f->lufs);
  json_number(j, "range_lu", probe_range_lu(&bus->out));
  json_number(j, "true_peak_db", probe_true_peak_db(&bus->out));
  json_number(j, "peak_db", f->peak_db);
  json_number(j, "level_db", f->level_db);
  json_number(j, "crest_db", f->crest_db);
  json_number(j, "correlation", stereo_image_correlation(i));
  json_number(j, "mono_db", stereo_image_mono_db(i));
  print_spectrum(j, "spectrum_db", f);
  print_spectrum(j, "spectrum_mono_db", &mono);
  json_numbers(j, "correlation_over_time", i->correlation.values,
               i->correlation.n);
  json_close(j, '}');
}

void
report_json_print(FILE* out, const mixdown* m, const session* s, double time_s)
{
  json   j = {.file = out};
  double hz[SPECTRUM_N_BANDS];
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    hz[i] = spectrum_band_hz(i);
  }
  json_open(&j, NULL, '{');
  json_text(&j, "session", s->path);
  json_number(&j, "rate_hz", mixdown_rate_hz(m));
  json_number(&j, "length_s", mixdown_length_s(m));
  json_number(&j, "time_s", time_s);
  json_numbers(&j, "bands_hz", hz, SPECTRUM_N_BANDS);
  json_number(&j, "series_step_s", mixdown_image(m)->correlation.step_s);
  print_mix(&j, m);
  json_open(&j, "lanes", '[');
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    print_lane(&j, mixdown_lane(m, i));
  }
  json_close(&j, ']');
  json_close(&j, '}');
}
