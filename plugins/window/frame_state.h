// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the files of the frame share: private to frame*.c

#ifndef PLUGINS_WINDOW_FRAME_STATE_H
#define PLUGINS_WINDOW_FRAME_STATE_H

#include "control.h"
#include "frame.h"
#include "jobs.h"
#include "sheet.h"

#include "plugins/chart/chart.h"

enum {
  FRAME_PARAMS     = shell_n_params + PARAMS_MAX,
  FRAME_METERS     = shell_n_meters + METERS_MAX,
  FRAME_ITEMS      = FRAME_PARAMS + 24,
  FRAME_WORDS      = CONTROL_MAX_CHOICES,
  FRAME_UNDO_STEPS = 64,
  FRAME_UNDO_PARTS = 4, ///< Controls that one gesture moves
};

#define ROW_HEIGHT    31.0
#define MARGIN        20.0
#define GUTTER        20.0
#define HEADER_BOTTOM 38.0
#define CAPTION_Y     58.0
#define PLOT_TOP      78.0

// ---------------------------------------------------------------------------
// What can be pointed at and have the keys

typedef enum {
  ITEM_ROW,   ///< A control with its scale, or with words
  ITEM_CHECK, ///< A toggle with a box
  ITEM_UNDO,
  ITEM_REDO,
  ITEM_MENU,
  ITEM_MATCH,
  ITEM_GROUND, ///< In the menu: choices of words
  ITEM_SCALE,
} item_kind;

typedef struct {
  item_kind   kind;
  uint32_t    param;             ///< Of rows and checks
  const char* name;              ///< As the sheet says it
  chart_box   box;               ///< To be pressed
  double      x, w;              ///< Of the scale
  bool        is_in_header;      ///< A choice without name, in one line
  chart_box   word[FRAME_WORDS]; ///< Of choices
  uint32_t    n_words;
} item;

// ---------------------------------------------------------------------------
// State

typedef struct {
  uint32_t param;
  float    from, to;
} move;

/// One gesture
typedef struct {
  move     moves[FRAME_UNDO_PARTS];
  uint32_t n;
} gesture;

typedef struct {
  gesture  steps[FRAME_UNDO_STEPS];
  uint32_t n, at; ///< `at` of them are done
} history;

/// Bands of the picture that are to be drawn anew
enum {
  BAND_HEADER  = 1,
  BAND_FIGURES = 2,
  BAND_ROWS    = 4,
  BAND_LEVELS  = 8,
  BAND_HELP    = 16,
  BAND_ALL     = 31,
};

typedef struct {
  bool   is_down, is_moving; ///< Pressed; and something was written
  int    item, handle;       ///< What is held, or -1
  double x, y;               ///< Last place, in logical px
  double across, upright;    ///< Places on the scales, 0 to 1, beyond rounding
} drag_state;

typedef struct {
  job*     work;
  void*    result;
  void*    before;
  bool     has_result, has_before;
  float    asked[PICTURE_MAX_INPUTS]; ///< Inputs of the job or the result
  uint32_t n_asked;
  bool     is_coarse; ///< It, or the result, is
  double   asked_s;
  bool     has_failed;
} part_state;

typedef struct {
  chart_boxes boxes;
  double      drawn_s;
  unsigned    drawn_news; ///< Count of meters' news when it was drawn
} mark_state;

struct frame {
  plugin_form    form;
  frame_host     host;
  prefs_host     prefs;
  unsigned       prefs_count;
  const picture* pic;
  sheet          rows;

  // Values
  float       value[FRAME_PARAMS];
  float       settled[FRAME_PARAMS]; ///< As before the gesture under way
  float       meter[FRAME_METERS];
  uint32_t    n_params, n_meters;
  unsigned    meter_news;             ///< Counts changes of meters
  bool        is_known[FRAME_PARAMS]; ///< The host has said it
  bool        is_late[FRAME_PARAMS];  ///< An echo waits, see frame_take_param()
  float       late[FRAME_PARAMS];
  double      written_s[FRAME_PARAMS]; ///< When the window last moved it
  double      moved_s[FRAME_PARAMS];   ///< When the host last moved it
  double      held_s[FRAME_PARAMS];    ///< When it was last held at an end
  double      counted_s; ///< Playing since the last change of a control
  double      now_s;
  meter_past* past;

  // Gestures
  history    undo;
  gesture    open; ///< The one under way
  bool       is_open;
  float      origin[FRAME_PARAMS]; ///< Values before it
  bool       is_touched[FRAME_PARAMS];
  drag_state drag;
  double     wheel_s; ///< When a wheel's gesture ends; 0: none is open
  double     press_s; ///< Of the last press, for double clicks
  int        press_item, press_handle;

  // What is pointed at and has the keys
  item     items[FRAME_ITEMS];
  uint32_t n_items;
  int      hover, hover_handle, focus;
  bool     is_menu_open;
  bool     is_typing;
  bool     is_whole; ///< The next character replaces what is in the field
  char     typed[CONTROL_TEXT];

  // Picture
  double               width, height; ///< In logical px
  double               scale;
  const chart_palette* palette;
  double               column_x[SHEET_MAX_COLUMNS], column_w;
  double               rows_top;
  chart_box            figure[PICTURE_MAX_FIGURES];
  picture_handle       handles[PICTURE_MAX_HANDLES];
  uint32_t             n_handles;
  part_state           parts[PICTURE_MAX_PARTS];
  const void*          results[PICTURE_MAX_PARTS];
  const void*          befores[PICTURE_MAX_PARTS];
  cairo_surface_t*     still; ///< Without what moves
  cairo_surface_t*     shown; ///< With it
  unsigned             bands; ///< To be drawn anew
  bool                 is_exposed;
  mark_state           marks[PICTURE_MAX_MARKS + 1]; ///< And the levels'
  chart_box            menu_box;
};

// frame.c

void
frame_follow_prefs(frame* f);

// frame_layout.c

/// Places everything, for the size and the words of now
void
layout_build(frame* f);

/// Returns the item at a place, or -1
int
layout_item_at(const frame* f, double x, double y);

int
layout_handle_at(const frame* f, double x, double y);

/// Returns the word of an item at a place, or -1
int
layout_word_at(const item* it, double x, double y);

chart_box
layout_band(const frame* f, unsigned band);

// frame_values.c

static inline const param_info*
frame_info(const frame* f, uint32_t param)
{
  return shell_param(f->form.plugin, param);
}

/// Begins a gesture, moves a control in it, ends it
void
gesture_begin(frame* f);

/// `value` is in the range
void
gesture_set(frame* f, uint32_t param, float value);

/// `wanted` is held in the range, and rounded to what can be shown
void
gesture_move(frame* f, uint32_t param, double wanted);

void
gesture_end(frame* f);

/// A whole gesture
void
gesture_once(frame* f, uint32_t param, double wanted);

/// One step of the wheel: gestures that end by themselves
void
gesture_wheel(frame* f, uint32_t param, double wanted);

void
history_undo(frame* f);

void
history_redo(frame* f);

bool
history_can_undo(const frame* f);

bool
history_can_redo(const frame* f);

/// Whether the change of level is known well enough to take it off
bool
frame_can_match(const frame* f);

void
frame_match(frame* f);

/// Whether a signal comes in
bool
frame_is_playing(const frame* f);

// frame_picture.c

picture_view
frame_view(const frame* f);

/// Starts and takes computations
void
parts_tick(frame* f);

/// Keeps the present results as those before the drag, and lets go of them
void
parts_keep(frame* f);

void
parts_release(frame* f);

bool
parts_make(frame* f);

void
parts_free(frame* f);

// frame_draw.c, frame_rows.c, frame_levels.c

void
header_draw(const frame* f, chart* c);

/// Also places the handles
void
figures_draw(frame* f, chart* c);

chart
frame_chart(const frame* f, cairo_t* cr);

void
rows_draw(frame* f, chart* c);

void
row_draw(const frame* f, chart* c, const item* it, int index);

void
levels_draw(const frame* f, chart* c);

/// What moves in the line of levels
void
levels_draw_now(const frame* f, chart* c);

void
help_draw(const frame* f, chart* c);

void
menu_draw(const frame* f, chart* c);

// frame_keys.c, frame_typing.c

bool
keys_event(frame* f, const window_event* e);

/// Begins and ends typing into the value with the keys; ending takes the value
/// if it can be read
void
typing_begin(frame* f, char first);

void
typing_end(frame* f, bool takes);

/// A key while typing; returns whether it was of use
bool
typing_key(frame* f, const window_event* e);

/// Does what pressing Enter, or clicking, does to an item
void
item_act(frame* f, int index);

void
menu_close(frame* f);

/// Moves the keys to an item
void
focus_set(frame* f, int index);

#endif // PLUGINS_WINDOW_FRAME_STATE_H
