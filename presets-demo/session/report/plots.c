// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plots.h"

#include "html.h"

#include "plugins/text/printable_copy.h"
#include "plugins/text/utf8.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/helper.h"
#include "presets-demo/render/program/signals.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MAX_POINTS    500 ///< Of a curve over time
#define SPECTRUM_SPAN 70.0

struct plots {
  char*    folder; ///< For the script and its output; NULL if none
  FILE*    script;
  uint32_t n;
  bool     is_drawn;
};

static const char preamble[] =
  "set encoding utf8\nset minussign\n"
  "set border 3 lc rgb '#8a8a85'\n"
  "set tics nomirror out scale 0.4 textcolor rgb '#4a4a46'\n"
  "set grid lc rgb '#e4e3de' lw 1\n"
  "set key outside top center horizontal samplen 1.6 textcolor rgb '#2b2b28'\n"
  "set datafile missing 'NaN'\n";

/// By position: blue, then the colours of further curves
static const char* const colours[] = {"#2a5f86", "#b3541e", "#4d7a3a",
                                      "#7a4b8c", "#8a7320"};

plots*
plots_new(void)
{
  plots* const      p      = alloc_new(1, sizeof(*p));
  const char* const parent = getenv("TMPDIR");
  p->folder = alloc_print("%s/dustcap-plots-XXXXXX", parent ? parent : "/tmp");
  if (mkdtemp(p->folder)) {
    char* const path = alloc_print("%s/script", p->folder);
    p->script        = fopen(path, "w");
    free(path);
  } else {
    free(p->folder);
    p->folder = NULL;
  }
  if (p->script) {
    (void)fputs(preamble, p->script);
  }
  return p;
}

static char*
svg_path(const plots* p, uint32_t number)
{
  return alloc_print("%s/%u.svg", p->folder, number);
}

void
plots_free(plots* p)
{
  if (p->script) {
    (void)fclose(p->script);
  }
  for (uint32_t i = 0; p->folder && i < p->n; ++i) {
    char* const path = svg_path(p, i);
    (void)unlink(path);
    free(path);
  }
  if (p->folder) {
    char* const path = alloc_print("%s/script", p->folder);
    (void)unlink(path);
    free(path);
    (void)rmdir(p->folder);
  }
  free(p->folder);
  free(p);
}

/// Prints a path as a string of gnuplot, in which only quotes are special
static void
print_path(FILE* f, const char* path)
{
  (void)fputc('\'', f);
  for (; *path; ++path) {
    (void)fprintf(f, "%s%c", *path == '\'' ? "'" : "", *path);
  }
  (void)fputc('\'', f);
}

/// Prints a title as a string of gnuplot; replaces what SVG does not allow
static void
print_title(FILE* f, const char* text)
{
  (void)fputc('\'', f);
  while (*text) {
    const size_t n = utf8_length(text);
    if (!n || printable_is_control(text, n)) {
      (void)fputc('?', f);
    } else {
      (void)fwrite(text, 1, n, f);
    }
    if (*text == '\'') {
      (void)fputc('\'', f);
    }
    text += n ? n : 1;
  }
  (void)fputc('\'', f);
}

/// Begins a plot and returns where to write its numbers; NULL if there can be
/// no plots
static FILE*
begin(plots* p, uint32_t width, uint32_t height)
{
  if (p->script) {
    (void)fprintf(
      p->script,
      "reset session\n%s"
      "set terminal svg size %u,%u dynamic noenhanced name 'plot%u' font "
      "'sans-serif,13' lw 1 dl 0.8\nset output ",
      preamble, width, height, p->n);
    char* const path = svg_path(p, p->n);
    print_path(p->script, path);
    free(path);
    (void)fputs("\n$d << END\n", p->script);
  }
  return p->script;
}

static uint32_t
end(plots* p)
{
  return p->n++;
}

static void
print_frequency_axis(FILE* f)
{
  (void)fputs("set logscale x\nset xrange [40:20000]\n"
              "set xtics ('50' 50, '100' 100, '200' 200, '500' 500, '1k' 1000, "
              "'2k' 2000, '5k' 5000, '10k' 10000, '20k' 20000)\n"
              "set xlabel 'Hz' offset 0,0.4 textcolor rgb '#4a4a46'\n"
              "set ylabel 'dB' offset 1.5,0 textcolor rgb '#4a4a46'\n",
              f);
}

/// Returns silence as a finite level far below the plot
static double
shown_db(double db)
{
  return isinf(db) ? -200.0 : db;
}

uint32_t
plots_add_spectra(plots*       p,
                  const probe* before,
                  const probe* after,
                  const char*  before_name,
                  const char*  after_name,
                  plot_width   width)
{
  FILE* const f   = begin(p, width, 230);
  double      top = -SPECTRUM_SPAN;
  if (!f) {
    return end(p);
  }
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    const double a = shown_db(probe_band_db(before, i));
    const double b = shown_db(probe_band_db(after, i));
    top            = fmax(top, fmax(a, b));
    (void)fprintf(f, "%.1f %.2f %.2f\n", spectrum_band_hz(i), a, b);
  }
  (void)fputs("END\n", f);
  print_frequency_axis(f);
  top = 10.0 * ceil((top + 2.0) / 10.0);
  (void)fprintf(f,
                "set yrange [%g:%g]\nset ytics 20\n"
                "plot $d using 1:2 with lines lw 2 lc rgb '#a3a39c' title "
                "'%s', $d using 1:3 with lines lw 2 lc rgb '%s' title '%s'\n",
                top - SPECTRUM_SPAN, top, before_name, colours[0], after_name);
  return end(p);
}

uint32_t
plots_add_difference(plots* p, const probe* a, const probe* b)
{
  FILE* const f = begin(p, PLOT_HALF, 230);
  if (!f) {
    return end(p);
  }
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    (void)fprintf(f, "%.1f %.2f\n", spectrum_band_hz(i),
                  probe_band_db(a, i) - probe_band_db(b, i));
  }
  (void)fputs("END\n", f);
  print_frequency_axis(f);
  (void)fprintf(f,
                "set yrange [-12:1]\nset ytics 3\nunset key\n"
                "plot -3.01 with lines lw 1.5 dt (6,5) lc rgb '#8a8a85', "
                "$d using 1:2 with lines lw 2 lc rgb '%s'\n",
                colours[0]);
  return end(p);
}

/// Returns the value of one point of the plot: the highest of its steps
static double
point(const time_series* s, uint32_t from, uint32_t to)
{
  double max = (double)NAN;
  for (uint32_t i = from; i < to && i < s->n; ++i) {
    max = fmax(max, s->values[i]);
  }
  return max;
}

uint32_t
plots_add_curves(plots*            p,
                 const plot_curve* curves,
                 uint32_t          n,
                 const char*       unit,
                 double            low,
                 double            high)
{
  FILE* const f = begin(p, PLOT_FULL, 210);
  if (!f) {
    return end(p);
  }
  const uint32_t steps = curves[0].values->n;
  const uint32_t each  = steps / MAX_POINTS + 1;
  for (uint32_t i = 0; i < steps; i += each) {
    (void)fprintf(f, "%.1f", i * TIME_SERIES_STEP_S);
    for (uint32_t k = 0; k < n; ++k) {
      const double value = point(curves[k].values, i, i + each);
      if (isnan(value)) {
        (void)fputs(" NaN", f);
      } else {
        (void)fprintf(f, " %.3f", value);
      }
    }
    (void)fputs("\n", f);
  }
  (void)fprintf(f,
                "END\nset xrange [0:%g]\nset yrange [%g:%g]\nset ytics %g\n"
                "set xlabel 's' offset 0,0.4 textcolor rgb '#4a4a46'\n"
                "set ylabel '%s' offset 1.5,0 textcolor rgb '#4a4a46'\n%s"
                "plot ",
                fmax(1.0, steps * TIME_SERIES_STEP_S), low, high,
                high > 1.0 ? 3.0 : 0.5, unit,
                // On the left, in sight on a narrow page
                n == 1 && !*curves[0].name ? "unset key\n"
                                           : "set key outside top left\n");
  for (uint32_t k = 0; k < n; ++k) {
    (void)fprintf(f, "%s$d using 1:%u with lines lw 1.5 lc rgb '%s' title ",
                  k ? ", " : "", k + 2,
                  colours[k % (sizeof(colours) / sizeof(colours[0]))]);
    print_title(f, curves[k].name);
  }
  (void)fputs("\n", f);
  return end(p);
}

plots_result
plots_draw(plots* p, double limit_s)
{
  helper_result result = HELPER_FAILED;
  if (p->script) {
    const bool is_written = !fclose(p->script);
    p->script             = NULL;
    char* const path      = alloc_print("%s/script", p->folder);
    char* const args[] = {(char*)"gnuplot", (char*)"--default-settings", path,
                          NULL};
    result = is_written ? helper_run(args, limit_s, &signals_caught) : result;
    free(path);
  }
  p->is_drawn = result == HELPER_DONE;
  return p->is_drawn             ? PLOTS_DRAWN
         : result == HELPER_SLOW ? PLOTS_SLOW
                                 : PLOTS_FAILED;
}

void
plots_print(const plots* p, uint32_t number, const char* label, FILE* html)
{
  char* const path = p->is_drawn ? svg_path(p, number) : NULL;
  FILE* const f    = path ? fopen(path, "r") : NULL;
  free(path);
  if (!f) {
    return;
  }
  char*  line    = NULL;
  size_t room    = 0;
  bool   is_kept = false; // From <svg on, without the unused <defs>
  while (getline(&line, &room, f) > 0) {
    if (!strncmp(line, "<svg", 4)) {
      is_kept = true;
      (void)fputs("<svg role=\"img\" aria-label=\"", html);
      html_text(html, label);
      (void)fprintf(html, "\"%s", line + 4);
    } else if (!strncmp(line, "<defs>", 6)) {
      is_kept = false;
    } else if (!strncmp(line, "</defs>", 7)) {
      is_kept = true;
    } else if (is_kept && strncmp(line, "<title>", 7) != 0 &&
               strncmp(line, "<desc>", 6) != 0) {
      const char* const group    = "<g id=\"gnuplot_canvas\">";
      const bool        is_group = !strncmp(line, group, strlen(group));
      (void)fputs(is_group ? "<g>\n" : line, html);
    }
  }
  free(line);
  (void)fclose(f);
}
