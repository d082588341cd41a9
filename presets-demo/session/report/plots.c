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
#define MAX_ROWS      60  ///< Of its table
#define SPECTRUM_SPAN 70.0

/// What is kept of a plot
typedef struct {
  plot_table table;
  double     length_s; ///< Of a time axis
} sheet;

struct plots {
  char*    folder; ///< For the script and its output; NULL if none
  FILE*    script;
  uint32_t n;
  sheet*   sheets; ///< By plot
  bool     is_drawn;
};

// Colours, by their use, which the page replaces on a dark ground.  Curves of
// one kind are told apart by their dashes: hue never carries meaning alone.
#define BLUE "#2a5f86"
#define GREY "#85837b"

static const char preamble[] =
  "set encoding utf8\nset minussign\n"
  "set border 3 lc rgb '" GREY "'\n"
  "set tics nomirror out scale 0.4 textcolor rgb '#4a4a46'\n"
  "set grid lc rgb '#e4e3de' lw 1\n"
  "set key outside top center horizontal samplen 1.6 textcolor rgb '#2b2b28'\n"
  "set datafile missing 'NaN'\n";

static const char* const dashes[] = {"1", "(10,5)", "(2,4)", "(10,4,2,4)",
                                     "(5,3)"};

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
  for (uint32_t i = 0; i < p->n; ++i) {
    plot_table_clear(&p->sheets[i].table);
  }
  free(p->sheets);
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
  p->sheets       = alloc_grow(p->sheets, p->n + 1, sizeof(*p->sheets));
  p->sheets[p->n] = (sheet){.length_s = 0.0};
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
  plot_table* const t = &p->sheets[p->n].table;
  plot_table_add_column(t, "Hz");
  plot_table_add_column(t, before_name);
  plot_table_add_column(t, after_name);
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    plot_table_add_row(t,
                       (double[]){spectrum_band_hz(i), probe_band_db(before, i),
                                  probe_band_db(after, i)});
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
                "plot $d using 1:2 with lines lw 2 lc rgb '" GREY
                "' title '%s', "
                "$d using 1:3 with lines lw 2 lc rgb '" BLUE "' title '%s'\n",
                top - SPECTRUM_SPAN, top, before_name, after_name);
  return end(p);
}

uint32_t
plots_add_difference(plots* p, const probe* a, const probe* b)
{
  FILE* const f = begin(p, PLOT_HALF, 230);
  if (!f) {
    return end(p);
  }
  plot_table* const t = &p->sheets[p->n].table;
  plot_table_add_column(t, "Hz");
  plot_table_add_column(t, "change, dB");
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    const double db = probe_band_db(a, i) - probe_band_db(b, i);
    plot_table_add_row(t, (double[]){spectrum_band_hz(i), db});
    (void)fprintf(f, "%.1f %.2f\n", spectrum_band_hz(i), db);
  }
  (void)fputs("END\n", f);
  print_frequency_axis(f);
  (void)fprintf(f, "set yrange [-12:1]\nset ytics 3\nunset key\n"
                   "plot -3.01 with lines lw 1.5 dt (6,5) lc rgb '" GREY "', "
                   "$d using 1:2 with lines lw 2 lc rgb '" BLUE "'\n");
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

/// Fills the table with at most MAX_ROWS steps of whole seconds
static void
add_curve_table(sheet* s, const plot_curve* curves, uint32_t n)
{
  const uint32_t steps  = curves[0].values->n;
  const uint32_t second = (uint32_t)lrint(1.0 / TIME_SERIES_STEP_S);
  const uint32_t each   = second * (steps / (second * MAX_ROWS) + 1);
  const uint32_t n_shown =
    n < PLOT_TABLE_MAX_COLUMNS - 1 ? n : PLOT_TABLE_MAX_COLUMNS - 1;
  double row[PLOT_TABLE_MAX_COLUMNS];
  plot_table_add_column(&s->table, "from s");
  for (uint32_t k = 0; k < n_shown; ++k) {
    plot_table_add_column(&s->table,
                          *curves[k].name ? curves[k].name : "highest");
  }
  for (uint32_t i = 0; i < steps; i += each) {
    row[0] = i * TIME_SERIES_STEP_S;
    for (uint32_t k = 0; k < n_shown; ++k) {
      row[k + 1] = point(curves[k].values, i, i + each);
    }
    plot_table_add_row(&s->table, row);
  }
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
  sheet* const   s     = &p->sheets[p->n];
  s->length_s          = fmax(1.0, steps * TIME_SERIES_STEP_S);
  add_curve_table(s, curves, n);
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
                "set lmargin at screen %g\nset rmargin at screen %g\n"
                "set bmargin at screen %g\nset tmargin at screen %g\n"
                "set xlabel 's' offset 0,0.4 textcolor rgb '#4a4a46'\n"
                "set ylabel '%s' offset 1.5,0 textcolor rgb '#4a4a46'\n%s"
                "plot ",
                s->length_s, low, high, high > 1.0 ? 3.0 : 0.5, PLOT_LEFT,
                PLOT_RIGHT, PLOT_BOTTOM, PLOT_TOP, unit,
                // On the left, in sight on a narrow page
                n == 1 && !*curves[0].name
                  ? "unset key\n"
                  : "set key at screen 0.065,0.99 left top Left reverse\n");
  for (uint32_t k = 0; k < n; ++k) {
    (void)fprintf(
      f, "%s$d using 1:%u with lines lw 1.5 lc rgb '" BLUE "' dt %s title ",
      k ? ", " : "", k + 2, dashes[k % (sizeof(dashes) / sizeof(dashes[0]))]);
    print_title(f, curves[k].name);
  }
  (void)fputs("\n", f);
  return end(p);
}

const plot_table*
plots_table(const plots* p, uint32_t number)
{
  return &p->sheets[number].table;
}

double
plots_length_s(const plots* p, uint32_t number)
{
  return p->sheets[number].length_s;
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
