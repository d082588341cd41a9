// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plots.h"

#include "svg_chart.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define MAX_POINTS    500U ///< Of a curve over time
#define MAX_ROWS      60U  ///< Of its table
#define MAX_TICKS     16U
#define SPECTRUM_SPAN 70.0

// Places in a plot, in px.  Those over time are known to the page (plots.h).
#define LEFT        36.0
#define RIGHT       8.0
#define TOP         26.0
#define BOTTOM      22.0
#define HEIGHT      172.0
#define TIME_HEIGHT 162.0
#define KEY_Y       10.0

/// What is kept of a plot
typedef struct {
  svg_chart  svg;
  plot_table table;
  double     length_s; ///< Of a time axis
} sheet;

struct plots {
  sheet**  sheets; ///< Each where it was begun
  uint32_t n;
};

plots*
plots_new(void)
{
  return alloc_new(1, sizeof(plots));
}

void
plots_free(plots* p)
{
  for (uint32_t i = 0; i < p->n; ++i) {
    svg_chart_clear(&p->sheets[i]->svg);
    plot_table_clear(&p->sheets[i]->table);
    free(p->sheets[i]);
  }
  free(p->sheets);
  free(p);
}

static sheet*
begin(plots* p, double width, double height)
{
  sheet* const s    = alloc_new(1, sizeof(*s));
  p->sheets         = alloc_grow(p->sheets, p->n + 1, sizeof(sheet*));
  p->sheets[p->n++] = s;
  svg_chart_begin(&s->svg, width, height);
  return s;
}

static uint32_t
end(const plots* p)
{
  svg_chart_end(&p->sheets[p->n - 1]->svg);
  return p->n - 1;
}

static chart_area
area_of(const sheet* s, chart_range x, chart_range y)
{
  const chart_box box = {LEFT, TOP, s->svg.width - LEFT - RIGHT,
                         s->svg.height - TOP - BOTTOM};
  return chart_area_of(box, x, y);
}

/// Draws a piece of line with a name behind it; returns where the next begins
static double
draw_key(chart* c, double x, const char* name, chart_line_style style)
{
  static const chart_type type = {.size = 10, .colour = CHART_MUTED};
  const chart_area        line =
    chart_area_of((chart_box){x, KEY_Y - 6, 22, 6}, (chart_range){0, 1, false},
                  (chart_range){0, 1, false});
  chart_level(c, &line, 0.5, style);
  return x + 44 + chart_text(c, type, x + 28, KEY_Y, "%s", name);
}

static void
draw_frequency_axis(chart* c, const chart_area* a)
{
  static const double      hz[]     = {50,   100,  200,   500,  1000,
                                       2000, 5000, 10000, 20000};
  static const char* const labels[] = {"50", "100", "200", "500",   "1k",
                                       "2k", "5k",  "",    "20 kHz"};
  chart_axis_x(c, a, hz, labels, sizeof(hz) / sizeof(hz[0]));
}

/// Draws the grid at multiples of a step
static void
draw_levels(chart* c, const chart_area* a, double step, const char* unit)
{
  double       values[MAX_TICKS];
  const double first = step * ceil(a->y.lo / step - 1e-6);
  uint32_t     n     = 0;
  while (n < MAX_TICKS && first + n * step <= a->y.hi + 1e-6) {
    values[n] = first + n * step;
    ++n;
  }
  chart_axis_y(c, a, values, n, unit);
}

uint32_t
plots_add_spectra(plots*                p,
                  const signal_figures* before,
                  const signal_figures* after,
                  const char*           before_name,
                  const char*           after_name,
                  plot_width            width)
{
  sheet* const s = begin(p, width, HEIGHT);
  chart* const c = &s->svg.chart;
  float        hz[SPECTRUM_N_BANDS];
  float        y[2][SPECTRUM_N_BANDS];
  double       top = -SPECTRUM_SPAN;
  plot_table_add_column(&s->table, "Hz");
  plot_table_add_column(&s->table, before_name);
  plot_table_add_column(&s->table, after_name);
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    const double row[] = {spectrum_band_hz(i), before->bands_db[i],
                          after->bands_db[i]};
    plot_table_add_row(&s->table, row);
    hz[i] = (float)row[0];
    for (int k = 0; k < 2; ++k) {
      // Silence is far below the plot
      y[k][i] = isinf(row[k + 1]) ? -200.0F : (float)row[k + 1];
      top     = fmax(top, (double)y[k][i]);
    }
  }
  top                = 10.0 * ceil((top + 2.0) / 10.0);
  const chart_area a = area_of(s, (chart_range){40, 20000, true},
                               (chart_range){top - SPECTRUM_SPAN, top, false});
  draw_levels(c, &a, 20.0, "dB");
  draw_frequency_axis(c, &a);
  chart_curve(c, &a, hz, y[0], SPECTRUM_N_BANDS, CHART_BEFORE);
  chart_curve(c, &a, hz, y[1], SPECTRUM_N_BANDS, CHART_AFTER);
  (void)draw_key(c, draw_key(c, LEFT, before_name, CHART_BEFORE), after_name,
                 CHART_AFTER);
  return end(p);
}

uint32_t
plots_add_difference(plots* p, const signal_figures* a, const signal_figures* b)
{
  sheet* const s = begin(p, PLOT_HALF, HEIGHT);
  chart* const c = &s->svg.chart;
  float        hz[SPECTRUM_N_BANDS];
  float        y[SPECTRUM_N_BANDS];
  plot_table_add_column(&s->table, "Hz");
  plot_table_add_column(&s->table, "change, dB");
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    const double row[] = {spectrum_band_hz(i), a->bands_db[i] - b->bands_db[i]};
    plot_table_add_row(&s->table, row);
    hz[i] = (float)row[0];
    y[i]  = (float)row[1];
  }
  const chart_area area =
    area_of(s, (chart_range){40, 20000, true}, (chart_range){-12, 1, false});
  draw_levels(c, &area, 3.0, "dB");
  draw_frequency_axis(c, &area);
  chart_level(c, &area, -3.01, CHART_REFERENCE);
  chart_curve(c, &area, hz, y, SPECTRUM_N_BANDS, CHART_AFTER);
  return end(p);
}

/// Returns the value of one point of a curve: the highest of its steps
static double
point(const time_series* s, uint32_t from, uint32_t to)
{
  double max = (double)NAN;
  for (uint32_t i = from; i < to && i < s->n; ++i) {
    max = fmax(max, s->values[i]);
  }
  return max;
}

/// Returns the least number of steps that last whole seconds
static uint32_t
steps_of_whole_seconds(double step_s)
{
  uint32_t n = 1;
  while (fabs(n * step_s - rint(n * step_s)) > 1e-6) {
    ++n;
  }
  return n;
}

/// Fills the table with at most MAX_ROWS steps of whole seconds
static void
add_curve_table(sheet* s, const plot_curve* curves, uint32_t n)
{
  const uint32_t steps  = curves[0].values->n;
  const double   step_s = curves[0].values->step_s;
  const uint32_t whole  = steps_of_whole_seconds(step_s);
  const uint32_t each   = whole * (steps / (whole * MAX_ROWS) + 1);
  const uint32_t n_shown =
    n < PLOT_TABLE_MAX_COLUMNS - 1 ? n : PLOT_TABLE_MAX_COLUMNS - 1;
  double row[PLOT_TABLE_MAX_COLUMNS];
  plot_table_add_column(&s->table, "from s");
  for (uint32_t k = 0; k < n_shown; ++k) {
    plot_table_add_column(&s->table,
                          *curves[k].name ? curves[k].name : "highest");
  }
  for (uint32_t i = 0; i < steps; i += each) {
    row[0] = i * step_s;
    for (uint32_t k = 0; k < n_shown; ++k) {
      row[k + 1] = point(curves[k].values, i, i + each);
    }
    plot_table_add_row(&s->table, row);
  }
}

/// Draws marks at round times, and "s" at the end
static void
draw_time_axis(chart* c, const chart_area* a)
{
  static const double steps_s[] = {0.1, 0.5, 1,   2,   5,   10,  20,
                                   30,  60,  120, 300, 600, 1800};
  const double        end_s     = a->x.hi;
  size_t              step      = 0;
  while (step + 1 < sizeof(steps_s) / sizeof(steps_s[0]) &&
         end_s / steps_s[step] > MAX_TICKS - 4) {
    ++step;
  }
  double      values[MAX_TICKS];
  char        texts[MAX_TICKS][16];
  const char* labels[MAX_TICKS];
  uint32_t    n = 0;
  while (n < MAX_TICKS - 1 && n * steps_s[step] < end_s - 0.3 * steps_s[step]) {
    values[n] = n * steps_s[step];
    (void)snprintf(texts[n], sizeof(texts[n]), "%g", values[n]);
    labels[n] = texts[n];
    ++n;
  }
  labels[n]   = "s";
  values[n++] = end_s;
  chart_axis_x(c, a, values, labels, n);
}

static void
draw_over_time(chart*             c,
               const chart_area*  a,
               const time_series* series,
               chart_line_style   style)
{
  const uint32_t each = series->n / MAX_POINTS + 1;
  float          x[MAX_POINTS + 1];
  float          y[MAX_POINTS + 1];
  uint32_t       n = 0;
  for (uint32_t i = 0; i < series->n && n <= MAX_POINTS; i += each) {
    x[n]   = (float)(i * series->step_s);
    y[n++] = (float)point(series, i, i + each);
  }
  chart_curve(c, a, x, y, n, style);
}

uint32_t
plots_add_curves(plots*            p,
                 const plot_curve* curves,
                 uint32_t          n,
                 const char*       unit,
                 double            low,
                 double            high)
{
  static const chart_line_style styles[] = {
    CHART_PART, CHART_SECOND, CHART_BEFORE, CHART_DRAGGED, CHART_REFERENCE};
  sheet* const s = begin(p, PLOT_FULL, TIME_HEIGHT);
  chart* const c = &s->svg.chart;
  s->length_s    = fmax(1.0, curves[0].values->n * curves[0].values->step_s);
  add_curve_table(s, curves, n);
  const chart_area a = area_of(s, (chart_range){0, s->length_s, false},
                               (chart_range){low, high, false});
  draw_levels(c, &a, high > 1.0 ? 3.0 : 0.5, unit);
  draw_time_axis(c, &a);
  double key_x = LEFT;
  for (uint32_t k = 0; k < n; ++k) {
    const chart_line_style style =
      styles[k % (sizeof(styles) / sizeof(styles[0]))];
    draw_over_time(c, &a, curves[k].values, style);
    if (*curves[k].name) {
      key_x = draw_key(c, key_x, curves[k].name, style);
    }
  }
  return end(p);
}

const plot_table*
plots_table(const plots* p, uint32_t number)
{
  return &p->sheets[number]->table;
}

double
plots_length_s(const plots* p, uint32_t number)
{
  return p->sheets[number]->length_s;
}

void
plots_print(const plots* p, uint32_t number, const char* label, FILE* html)
{
  svg_chart_print(&p->sheets[number]->svg, number, label, html);
}
