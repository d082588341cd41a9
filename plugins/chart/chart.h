// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Charts on cairo: the palette, text, axes, curves and marks that windows
/// share with the pages of the report.
///
/// Places are in logical pixels: the caller scales the cairo context.  Colours
/// and lines are asked for by what they mean, so that a chart looks the same on
/// both grounds and while a stage is off.  Hue never carries a meaning alone:
/// each line style differs by width or dashes too.
///
/// For the thread that owns the cairo context; uses the heap (cairo does).

#ifndef PLUGINS_CHART_CHART_H
#define PLUGINS_CHART_CHART_H

#include <cairo.h>

#include <stdbool.h>
#include <stdint.h>

// ---------------------------------------------------------------------------
// Palette

typedef enum {
  CHART_GROUND,
  CHART_TINT,  ///< Areas, the row under the pointer
  CHART_INK,   ///< Text; the playing now
  CHART_MUTED, ///< Names, units, axes' labels
  CHART_BLUE,  ///< What the stage does with these settings
  CHART_GREY,  ///< As it came: before, dry, default; scales and axes
  CHART_RULE,  ///< Separators and grid: ornament
  CHART_N_COLOURS,
} chart_colour;

/// Colours as 0xRRGGBB
typedef struct {
  const char* name; ///< "night"
  uint32_t    rgb[CHART_N_COLOURS];
} chart_palette;

extern const chart_palette chart_night;
extern const chart_palette chart_paper;

// ---------------------------------------------------------------------------
// The sheet to draw on

typedef struct {
  double x, y, w, h;
} chart_box;

/// Boxes that were drawn into
typedef struct {
  chart_box box[24];
  uint32_t  n; ///< Beyond the last, boxes are joined to it
} chart_boxes;

typedef struct {
  cairo_t*             cr;
  const chart_palette* palette;
  bool                 is_off; ///< The stage is off: the input is what is heard
  chart_boxes* touched; ///< Takes the boxes of all that is drawn, if not NULL
} chart;

/// Adds a box to `touched`, with a pixel round it; for drawing of one's own
void
chart_touch(chart* c, double x, double y, double w, double h);

/// Sets the source colour
void
chart_use(const chart* c, chart_colour colour);

/// Returns the nearest place between (or on) device pixels for a line of
/// `width`, so that upright and level lines are sharp
double
chart_sharp(const chart* c, double at, double width);

void
chart_rectangle(chart* c, chart_box box, chart_colour colour);

/// Frames a box by a line inside of it
void
chart_frame(chart* c, chart_box box, double width, chart_colour colour);

/// Upright if x0 == x1, level if y0 == y1: sharp then
void
chart_line(chart*       c,
           double       x0,
           double       y0,
           double       x1,
           double       y1,
           double       width,
           chart_colour colour);

// ---------------------------------------------------------------------------
// Text

typedef enum { CHART_LEFT, CHART_CENTRE, CHART_RIGHT } chart_align;

typedef struct {
  double       size; ///< In px: 10 (labels), 11 (words), 12 (values), 15
  chart_colour colour;
  chart_align  align;
  bool         is_bold;
  bool         is_backed; ///< On a patch of ground, where it crosses lines
} chart_type;

/// Prints at a baseline; "-" before a digit becomes a true minus.  Returns the
/// width.
__attribute__((format(printf, 5, 6))) double
chart_text(chart*      c,
           chart_type  type,
           double      x,
           double      baseline,
           const char* format,
           ...);

/// Returns the width that chart_text() would print
__attribute__((format(printf, 3, 4))) double
chart_text_width(const chart* c, chart_type type, const char* format, ...);

// ---------------------------------------------------------------------------
// Axes

typedef struct {
  double lo, hi; ///< Values at its ends
  bool   is_log;
  double from, to; ///< Their places, in px
} chart_axis;

/// Returns the place of a value, beyond the ends too
double
chart_place(const chart_axis* a, double value);

/// Returns the value at a place
double
chart_value(const chart_axis* a, double place);

typedef struct {
  chart_box  box;
  chart_axis x, y;
} chart_area;

typedef struct {
  double lo, hi;
  bool   is_log;
} chart_range;

chart_area
chart_area_of(chart_box box, chart_range x, chart_range y);

/// Draws the level axis at the foot, with marks at `n` values and their
/// labels: NULL or "" for none.  The last label ends with the area.
void
chart_axis_x(chart*             c,
             const chart_area*  a,
             const double*      values,
             const char* const* labels,
             uint32_t           n);

/// Draws grid lines at `n` values with their figures left of the area, and the
/// unit above them
void
chart_axis_y(chart*            c,
             const chart_area* a,
             const double*     values,
             uint32_t          n,
             const char*       unit);

// ---------------------------------------------------------------------------
// Curves

typedef enum {
  CHART_BEFORE,    ///< As it came: grey 1.5; while off solid ink
  CHART_AFTER,     ///< With these settings: blue 2.25; while off grey, dashed
  CHART_SECOND,    ///< Another of the settings: blue 1.5, dashes 5-3
  CHART_PART,      ///< A part of it: blue 1.25
  CHART_DRAGGED,   ///< Where a drag began: grey 1.25, dashes
  CHART_REFERENCE, ///< For comparison: grey 1.25, dashes
  CHART_NOW,       ///< The playing now: ink 1
  CHART_N_LINES,
} chart_line_style;

/// Draws a curve through n points, in the units of the axes, clipped to the
/// area (with half a line's width to spare).  A NaN is a gap.
void
chart_curve(chart*            c,
            const chart_area* a,
            const float*      x,
            const float*      y,
            uint32_t          n,
            chart_line_style  style);

/// Tints what lies between a curve and another; `y1` NULL: the value `base`
void
chart_fill(chart*            c,
           const chart_area* a,
           const float*      x,
           const float*      y,
           const float*      y1,
           double            base,
           uint32_t          n);

/// Level or upright line right through the area, at a value
void
chart_level(chart* c, const chart_area* a, double y, chart_line_style style);

void
chart_upright(chart* c, const chart_area* a, double x, chart_line_style style);

// ---------------------------------------------------------------------------
// Marks

/// A dot of 7 px: to be read
void
chart_dot(chart* c, double x, double y, chart_colour colour);

/// An upright hairline through the area with a triangle on the axis: where the
/// playing is now.  Outside the area nothing is drawn.
void
chart_now_x(chart* c, const chart_area* a, double x);

/// A bar of 3 px on the level axis: the range of the last seconds
void
chart_range_x(chart* c, const chart_area* a, double from, double to);

/// A triangle with its point at (x, y); `height` below 0 points up
void
chart_triangle(chart*       c,
               double       x,
               double       y,
               double       height,
               bool         is_solid,
               chart_colour colour);

#endif // PLUGINS_CHART_CHART_H
