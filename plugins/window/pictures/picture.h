// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The picture of a stage: one file, pictures/<stem>.c (`_` for `-`), which
/// defines `const picture <stem>_picture`.  The build finds it by its name.
///
/// A picture has
///   figures: captions, and which columns of the sheet they span;
///   parts: what is computed, by playing probes through a copy of the stage
///     (probe.h), on a worker thread.  A part is a function from inputs (the
///     stage's controls, unless it says otherwise) to a flat result; it runs
///     again when its inputs have changed;
///   draw(): everything that stands still between two changes of a control;
///   marks: what moves with the playing, from meters alone;
///   handles: second grips on one or two rows, to be dragged in the figure.
///
/// draw(), marks and handles run on the user interface's thread and should take
/// 2 ms at most; they never compute, only draw results.  Until the first result
/// is there, `result[i]` is NULL: draw the axes then.
///
/// Colours and lines are asked for by what they mean (chart.h): CHART_AFTER for
/// what the stage does, CHART_BEFORE for what came in.

#ifndef PLUGINS_WINDOW_PICTURES_PICTURE_H
#define PLUGINS_WINDOW_PICTURES_PICTURE_H

#include "probe.h"

#include "plugins/chart/chart.h"
#include "plugins/shell.h"

enum {
  PICTURE_MAX_FIGURES = 3,
  PICTURE_MAX_PARTS   = 4,
  PICTURE_MAX_MARKS   = 4,
  PICTURE_MAX_HANDLES = 8,
  PICTURE_MAX_INPUTS  = PARAMS_MAX + 8,
};

/// The last seconds of all meters, shell's first (see shell_meter())
typedef struct meter_past meter_past;

#define METER_PAST_S 20

/// What a picture may look at.  `values` and `settled` may be read as the
/// stage's `x_params`, `meters` as its `x_meters`.
typedef struct {
  const float* values;  ///< The stage's controls now
  const float* settled; ///< As before the drag under way; choose axes by these
  const float* meters;  ///< The stage's meters now
  shell_meters levels;  ///< The shell's
  bool         is_playing; ///< Signal comes in: else marks show nothing
  bool         is_off;     ///< Not `enabled`
  const meter_past* past;

  /// Where each figure's plot lies, its axis labels outside: left of it (28
  /// px), 16 px below, and the unit above
  const chart_box* figure;

  const void* const* result; ///< Of each part; NULL until computed
  const void* const* before; ///< As the drag under way began, else NULL
} picture_view;

/// A part's result that stands still in a drag: choose axes by it.  NULL until
/// computed.
static inline const void*
picture_still(const picture_view* v, uint32_t part)
{
  return v->before[part] ? v->before[part] : v->result[part];
}

/// Value of a meter (index as in shell_meter()) `ago_s` seconds ago; NaN before
/// the window opened, or where nothing was playing
float
picture_meter_ago(const picture_view* v, uint32_t meter, double ago_s);

/// Smallest and largest of the last seconds; false if nothing was playing
bool
picture_meter_range(const picture_view* v,
                    uint32_t            meter,
                    double              seconds,
                    float*              lo,
                    float*              hi);

/// A caption and a plot
typedef struct {
  const char* title;      ///< Bold
  const char* subtitle;   ///< Behind it
  uint32_t    column;     ///< Its first column of the sheet
  uint32_t    n_columns;  ///< and how many it spans
  bool        is_flush;   ///< No room for figures left of its plot
  double      bottom_gap; ///< Room below the axis' labels, for more there
} picture_figure;

/// Something to compute
typedef struct {
  size_t   size;       ///< Of the result: flat, without pointers
  uint32_t n_channels; ///< Of the probe: 1 or 2
  /// Writes what compute() depends on, returns how many (at most
  /// PICTURE_MAX_INPUTS); the stage's controls come first.  NULL: those alone.
  /// Runs at every change of a control or meter, on the UI's thread: be quick,
  /// and round what comes from meters.
  uint32_t (*inputs)(const picture_view* v, float* inputs);
  /// Computes; on the worker thread.  The probe has been set to the first
  /// inputs and reset; `is_coarse` while a hand moves (aim at 20 ms; else at
  /// 200).  `result` is zeroed.  False if the probe said to stop.
  bool (*compute)(probe* p, const float* inputs, bool is_coarse, void* result);
} picture_part;

/// Something that moves.  What two marks draw must not overlap.
typedef struct {
  void (*draw)(chart* c, const picture_view* v);
  double hz; ///< 30 for marks, 4 for histories
} picture_mark;

/// A second grip on rows of the sheet.  Rows are the stage's, in row order; -1
/// is none.
typedef struct {
  double x, y;    ///< Its place
  int    across;  ///< Row that a drag sideways moves
  int    upright; ///< Row that a drag up and down moves
  int    width;   ///< Row that Ctrl and the wheel move
  /// How many px a drag takes from the smallest to the largest value of the
  /// row, to the right and downwards; below 0: to the left, upwards.  That is
  /// what picture_span() gives of the axis on which the handle stands.
  double across_px, upright_px;
} picture_handle;

/// Returns the px that an axis gives to the whole range of a control, when both
/// are of the same kind (linear or logarithmic)
double
picture_span(const chart_axis* a, const param_info* p);

/// Returns the value of a curve of n points at `x` (rising, between two points
/// straight; beyond the ends the value there)
float
picture_curve_at(const float* x, const float* y, uint32_t n, float at);

/// Writes n values from lo to hi, evenly, or evenly in their logarithm
void
picture_spread(float* values, uint32_t n, double lo, double hi, bool is_log);

/// A word at the right end of the first figure's caption that sets a row, as
/// one gesture, to what the meters have found
typedef struct {
  const char* word;
  const char* name; ///< Here and below: for the line of help
  const char* help;
  const char* not_yet; ///< Instead, while the value is not known
  uint32_t    row;     ///< The stage's
  /// Writes the value; false while it is not known, when the word is grey
  bool (*value)(const picture_view* v, float* value);
} picture_act;

typedef struct {
  const char*           stem;
  const picture_figure* figures;
  uint32_t              n_figures;
  const picture_part*   parts;
  uint32_t              n_parts;
  void (*draw)(chart* c, const picture_view* v);
  const picture_mark* marks;
  uint32_t            n_marks;
  /// Writes at most PICTURE_MAX_HANDLES, returns how many; NULL: none
  uint32_t (*handles)(const picture_view* v, picture_handle* handles);
  const picture_act* act; ///< NULL: none
} picture;

/// Returns the picture of a stem; one without figures if there is none yet
const picture*
picture_of(const char* stem);

/// For the frame: the memory of meters.  NULL without memory.
meter_past*
meter_past_new(void);

void
meter_past_free(meter_past* past);

/// Adds n_meters values at a time in seconds, at least 1/30 s after the last,
/// or else nothing
void
meter_past_add(meter_past*  past,
               double       now_s,
               const float* values,
               uint32_t     n_meters,
               bool         is_playing);

#endif // PLUGINS_WINDOW_PICTURES_PICTURE_H
