// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report_html.h"

#include "html.h"
#include "listen_html.h"
#include "report_plots.h"
#include "stage_figures.h"

#include "presets-demo/render/program/path.h"

#include <math.h>
#include <string.h>

// ---------------------------------------------------------------------------
// The mix

static void
print_mix(FILE* f, const report_plots* sheet, const mixdown* m)
{
  const lane* const           bus = mixdown_bus(m);
  const signal_figures* const p   = &bus->figures.out;
  const stereo_image* const   i   = mixdown_image(m);
  (void)fputs("<h2 id=\"mix\">Mix</h2>\n<div class=\"tiles\">\n", f);
  html_tile(f, "Loudness", p->lufs, 1, "LUFS");
  html_tile(f, "Loudness range", probe_range_lu(&bus->out), 1, "LU");
  html_tile(f, "True peak", probe_true_peak_db(&bus->out), 1, "dBTP");
  html_tile(f, "Level", p->level_db, 1, "dBFS");
  html_tile(f, "Crest", p->crest_db, 1, "dB");
  html_tile(f, "Correlation", stereo_image_correlation(i), 2, "");
  html_tile(f, "Change in mono", stereo_image_mono_db(i), 1, "dB");
  (void)fputs("</div>\n<div class=\"plots two\">\n", f);
  report_plots_print(f, sheet, sheet->mix, NULL, "Spectrum",
                     "before and after the bus");
  report_plots_print(f, sheet, sheet->mono, NULL, "In mono",
                     "change in each band; dashed: unrelated sides");
  report_plots_print(
    f, sheet, sheet->correlation, bus, "Correlation",
    "of left and right: 1 the same, 0 unrelated, below 0 lost in mono");
  (void)fputs("</div>\n", f);
}

static void
print_lane_link(FILE* f, const lane* l)
{
  (void)fprintf(f, "<a href=\"#%s-", stage_figures_kind(l));
  html_text(f, l->strip->slug);
  (void)fputs("\">", f);
  html_name(f, l->strip->name);
  (void)fputs("</a>", f);
}

static void
print_overview_row(FILE* f, const lane* l)
{
  const session_strip* const s     = l->strip;
  const stage_figures        whole = stage_figures_of_setup(l);
  (void)fputs("<tr><th scope=\"row\">", f);
  print_lane_link(f, l);
  (void)fputs("</th>", f);
  html_change(f, lane_is_aligned(l) ? l->take.align_db : (double)NAN, 1, "");
  html_figure(f, whole.in_db, 1, "");
  html_change(f, whole.change_lu, 1, "");
  html_change(f, (double)s->gain_db, 1, "");
  html_change(f, l->in ? (double)s->pan : (double)NAN, 0, "");
  for (uint32_t k = 0; k < SESSION_N_SENDS; ++k) {
    const double db = (double)s->send_db[k];
    html_change(f, l->in && db > (double)SESSION_OFF_DB ? db : (double)NAN, 1,
                "");
  }
  html_figure(f, l->figures.out.lufs, 1, "");
  html_figure(f, l->figures.out.peak_db, 1, "");
  html_figure(f, whole.latency_frames, 0, "");
  html_figure(f, whole.cost_pc, 2, "");
  (void)fputs("</tr>\n", f);
}

static void
print_overview(FILE* f, const mixdown* m)
{
  static const char* const headings[] = {"name",
                                         "align<br>dB",
                                         "level in<br>dBFS",
                                         "loudness<br>change LU",
                                         "gain<br>dB",
                                         "pan",
                                         "plate<br>dB",
                                         "room<br>dB",
                                         "loudness out<br>LUFS",
                                         "peak<br>dBFS",
                                         "latency<br>frames",
                                         "cost<br>% of a core",
                                         NULL};
  (void)fputs("<h2 id=\"overview\">Tracks, sends, bus</h2>\n", f);
  html_begin_scroll(f, "Tracks, sends, bus");
  (void)fputs("<table>\n", f);
  html_headings(f, headings);
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    print_overview_row(f, mixdown_lane(m, i));
  }
  (void)fputs("</table></div>\n", f);
}

// ---------------------------------------------------------------------------
// A lane

static void
print_stage_row(FILE* f, const stage_figures* s, bool is_sum)
{
  (void)fprintf(f, "<tr%s><th scope=\"row\">", is_sum ? " class=\"sum\"" : "");
  html_text(f, s->name);
  (void)fputs("</th>", f);
  html_figure(f, s->in_db, 1, "");
  html_figure(f, s->out_db, 1, "");
  html_change(f, s->change_lu, 1, "");
  html_figure(f, s->peak_db, 1, "");
  html_figure(f, s->crest_db, 1, "");
  html_change(f, s->crest_change_db, 1, "");
  html_figure(f, s->reduction_mean_db, 1, "");
  html_figure(f, s->reduction_max_db, 1, "");
  html_figure(f, s->latency_frames, 0, "");
  html_figure(f, s->cost_pc, 2, "");
  (void)fputs("</tr>\n", f);
}

static void
print_stages(FILE* f, const lane* l)
{
  static const char* const headings[] = {"stage",
                                         "level in<br>dBFS",
                                         "level out<br>dBFS",
                                         "loudness<br>change LU",
                                         "peak<br>dBFS",
                                         "crest<br>dB",
                                         "crest<br>change dB",
                                         "reduction<br>mean, dB",
                                         "reduction<br>maximum, dB",
                                         "latency<br>frames",
                                         "cost<br>% of a core",
                                         NULL};
  html_begin_scroll(f, l->strip->name);
  (void)fputs("<table>\n", f);
  html_headings(f, headings);
  for (uint32_t i = 0; i < lane_n_stages(l); ++i) {
    const stage_figures s = stage_figures_of_stage(l, i);
    print_stage_row(f, &s, false);
  }
  const stage_figures whole = stage_figures_of_setup(l);
  print_stage_row(f, &whole, true);
  (void)fputs("</table></div>\n", f);
}

static void
print_lane_heading(FILE* f, const lane* l)
{
  const char* const kind = stage_figures_kind(l);
  const char* const name = l->strip->name;
  (void)fprintf(f, "<h2 id=\"%s-", kind);
  html_text(f, l->strip->slug);
  (void)fputs("\">", f);
  if (strcmp(kind, "bus") != 0) {
    (void)fputs(l->in ? "Track " : "Send ", f);
    html_name(f, name);
  } else {
    (void)fputs("Bus", f);
  }
  (void)fputs("<small>", f);
  if (l->strip->file) {
    html_name(f, path_name(l->strip->file));
    (void)fputs(l->strip->setup ? " through " : "", f);
  }
  if (l->strip->setup) {
    html_name(f, path_name(l->strip->setup));
  }
  (void)fputs("</small></h2>\n", f);
}

/// What is wrong with the recording of a track
static void
print_take(FILE* f, const take_lines* lines)
{
  if (lines->n) {
    (void)fputs("<ul class=\"take\">\n", f);
    for (uint32_t i = 0; i < lines->n; ++i) {
      (void)fputs("<li>", f);
      html_text(f, lines->lines[i].text);
      (void)fputs("</li>\n", f);
    }
    (void)fputs("</ul>\n", f);
  }
}

static void
print_lane(FILE*               f,
           const report_plots* p,
           const lane_plots*   l_plots,
           const lane*         l)
{
  print_lane_heading(f, l);
  if (!lane_n_stages(l)) {
    (void)fputs("<p class=\"quiet\">No setup: passed on unchanged.</p>\n", f);
    return;
  }
  print_stages(f, l);
  (void)fputs("<div class=\"plots\">\n", f);
  if (l_plots->has_reduction) {
    report_plots_print(f, p, l_plots->reduction, l, "Gain reduction",
                       "over time, highest value of each step");
  }
  report_plots_print(f, p, l_plots->whole, NULL, "All stages", "");
  for (uint32_t i = 0; lane_n_stages(l) > 1 && i < lane_n_stages(l); ++i) {
    report_plots_print(f, p, l_plots->stages[i], NULL,
                       stage_figures_of_stage(l, i).name, "");
  }
  (void)fputs("</div>\n", f);
}

// ---------------------------------------------------------------------------
// The page

/// What is wrong with the recordings, before anything else is read or heard
static void
print_takes(FILE* f, const mixdown* m)
{
  bool has_lines = false;
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    has_lines = has_lines || mixdown_lane(m, i)->take.lines.n;
  }
  if (!has_lines) {
    return;
  }
  (void)fputs("<section class=\"takes\" aria-labelledby=\"takes\">\n<h2 "
              "id=\"takes\">What the recordings have</h2>\n",
              f);
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    const lane* const l = mixdown_lane(m, i);
    if (l->take.lines.n) {
      (void)fputs("<h3>", f);
      print_lane_link(f, l);
      (void)fputs("</h3>\n", f);
      print_take(f, &l->take.lines);
    }
  }
  (void)fputs("</section>\n", f);
}

/// Says how many tracks were not played, if there is a cache
static void
print_taken(FILE* f, const mixdown* m)
{
  uint32_t n_tracks = 0;
  uint32_t n_taken  = 0;
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    n_tracks += mixdown_lane(m, i)->in != NULL;
    n_taken += mixdown_lane(m, i)->taken != NULL;
  }
  if (mixdown_keys(m)) {
    (void)fprintf(f, " %u of %u tracks came from the cache.", n_taken,
                  n_tracks);
  }
}

static void
print_head(FILE*          f,
           const mixdown* m,
           const session* s,
           const char*    done,
           double         time_s)
{
  (void)fputs("<h1>", f);
  html_name(f, path_name(s->path));
  (void)fprintf(f,
                "</h1>\n<p class=\"quiet\">%.1f s at %g Hz, %s in %.1f s: "
                "%.0f times as fast as it plays.",
                mixdown_length_s(m), mixdown_rate_hz(m), done, time_s,
                mixdown_length_s(m) / time_s);
  print_taken(f, m);
  (void)fputs("</p>\n", f);
}

static void
print_links(FILE* f, const mixdown* m, bool has_sound)
{
  (void)fprintf(f, "<nav aria-label=\"Parts\">%s<a href=\"#mix\">Mix</a>",
                has_sound ? "<a href=\"#listen\">Listen</a>\n" : "");
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    (void)fputs("\n", f);
    print_lane_link(f, mixdown_lane(m, i));
  }
  (void)fputs("\n<a href=\"#figures\">About the figures</a></nav>\n", f);
}

static void
print_end(FILE* f, const listen* l)
{
  html_before_sound(f);
  listen_html_print_sound(f, l);
  html_end(f);
}

void
report_html_print(FILE*          out,
                  const mixdown* m,
                  const session* s,
                  const listen*  l,
                  double         time_s)
{
  report_plots p = report_plots_draw(m);
  html_begin(out, path_name(s->path));
  print_head(out, m, s, "mixed", time_s);
  print_links(out, m, listen_html_has_sound(l));
  print_takes(out, m);
  listen_html_print(out, l);
  print_mix(out, &p, m);
  print_overview(out, m);
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    print_lane(out, &p, &p.lanes[i], mixdown_lane(m, i));
  }
  print_end(out, l);
  report_plots_clear(&p);
}

void
report_html_print_take(FILE*          out,
                       const mixdown* m,
                       const session* s,
                       const listen*  l,
                       double         time_s)
{
  report_plots p = report_plots_draw(m);
  html_begin(out, path_name(s->path));
  print_head(out, m, s, "played", time_s);
  print_takes(out, m);
  listen_html_print(out, l);
  print_lane(out, &p, &p.lanes[0], mixdown_lane(m, 0));
  print_end(out, l);
  report_plots_clear(&p);
}
