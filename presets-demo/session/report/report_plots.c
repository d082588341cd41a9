// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report_plots.h"

#include "html.h"
#include "stage_figures.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define MAX_CURVES 8

static void
add_reductions(plots* p, const lane* l, lane_plots* l_plots)
{
  plot_curve curves[MAX_CURVES];
  uint32_t   n   = 0;
  double     max = 0.0;
  for (uint32_t i = 0; i < lane_n_stages(l) && n < MAX_CURVES; ++i) {
    const double highest = stage_figures_max(&l->reductions[i]);
    if (!isnan(highest)) {
      curves[n++] =
        (plot_curve){stage_figures_of_stage(l, i).name, &l->reductions[i]};
      max = fmax(max, highest);
    }
  }
  l_plots->has_reduction = n > 0;
  if (n) {
    l_plots->reduction = plots_add_curves(p, curves, n, "dB", 0.0,
                                          fmax(3.0, 3.0 * ceil(max / 3.0)));
  }
}

static void
add_lane_plots(plots* p, const lane* l, lane_plots* l_plots)
{
  const uint32_t n = lane_n_stages(l);
  l_plots->stages  = alloc_new(n, sizeof(*l_plots->stages));
  l_plots->whole =
    plots_add_spectra(p, &l->figures.joints[0], &l->figures.joints[n], "before",
                      "after", PLOT_THIRD);
  for (uint32_t i = 0; i < n; ++i) {
    l_plots->stages[i] =
      plots_add_spectra(p, &l->figures.joints[i], &l->figures.joints[i + 1],
                        "before", "after", PLOT_THIRD);
  }
  add_reductions(p, l, l_plots);
}

report_plots
report_plots_draw(const mixdown* m)
{
  const lane* const         bus  = mixdown_bus(m);
  const stereo_image* const im   = mixdown_image(m);
  const signal_figures      mono = probe_figures(&im->mono);
  report_plots              p    = {.plots   = plots_new(),
                                    .n_lanes = mixdown_n_lanes(m),
                                    .lanes = alloc_new(mixdown_n_lanes(m), sizeof(lane_plots))};
  p.mix = plots_add_spectra(p.plots, &bus->figures.joints[0], &bus->figures.out,
                            "into the bus", "mix", PLOT_HALF);
  p.mono        = plots_add_difference(p.plots, &mono, &bus->figures.out);
  p.correlation = plots_add_curves(p.plots, &(plot_curve){"", &im->correlation},
                                   1, "", -1.0, 1.0);
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    add_lane_plots(p.plots, mixdown_lane(m, i), &p.lanes[i]);
  }
  return p;
}

void
report_plots_clear(report_plots* p)
{
  for (uint32_t i = 0; i < p->n_lanes; ++i) {
    free(p->lanes[i].stages);
  }
  free(p->lanes);
  plots_free(p->plots);
}

/// Prints what lies over the axes of a plot over time
static void
print_playhead(FILE* f, const report_plots* p, uint32_t number, const lane* l)
{
  (void)fprintf(f,
                "<div class=\"over-time\" style=\"left:%.2f%%;right:%.2f%%;"
                "top:%.2f%%;bottom:%.2f%%\" data-length=\"%.1f\" data-lane=\"",
                100.0 * PLOT_LEFT, 100.0 * (1.0 - PLOT_RIGHT), 100.0 * PLOT_TOP,
                100.0 * (1.0 - PLOT_BOTTOM), plots_length_s(p->plots, number));
  (void)fprintf(f, "%s-", stage_figures_kind(l));
  html_text(f, l->strip->slug);
  (void)fputs("\"><i class=\"playhead\" hidden></i></div>\n", f);
}

void
report_plots_print(FILE*               f,
                   const report_plots* p,
                   uint32_t            number,
                   const lane*         l,
                   const char*         caption,
                   const char*         more)
{
  (void)fprintf(f, "<figure%s><figcaption>",
                l ? " class=\"wide time\" tabindex=\"0\"" : "");
  html_text(f, caption);
  (void)fprintf(f, " <span>%s</span></figcaption>\n<div class=\"plot\">\n",
                more);
  plots_print(p->plots, number, caption, f);
  if (l) {
    print_playhead(f, p, number, l);
  }
  (void)fputs("</div>\n", f);
  plot_table_print(plots_table(p->plots, number), caption, f);
  (void)fputs("</figure>\n", f);
}
