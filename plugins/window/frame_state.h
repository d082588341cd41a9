// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the files of the frame share: private to frame*.c

#ifndef PLUGINS_WINDOW_FRAME_STATE_H
#define PLUGINS_WINDOW_FRAME_STATE_H

#include "follow/follow.h"
#include "follow/track_row.h"
#include "frame.h"
#include "jobs.h"
#include "past.h"
#include "plugins/window/controls/control.h"
#include "setup_watch.h"
#include "sheet.h"

#include "plugins/chart/chart.h"

enum {
  FRAME_PARAMS = PAST_PARAMS,
  FRAME_METERS = shell_n_meters + METERS_MAX,
  FRAME_ITEMS  = FRAME_PARAMS + 48,
  FRAME_WORDS  = CONTROL_MAX_CHOICES + 1, ///< Numbers of rows, and off
  FRAME_SAID   = 256,                     ///< Bytes of a message
};

/// The first controls of every plugin: looked up often
enum { ENABLED = 0, EQUAL_LOUDNESS = 1 };

/// Menus of no row
enum { MENU_SETUP = -1, MENU_GROUP = -2 };

#define ROW_HEIGHT     31.0
#define MARGIN         20.0
#define GUTTER         20.0
#define HEADER_BOTTOM  38.0
#define CAPTION_Y      58.0
#define PLOT_TOP       78.0
#define LEVELS_HEIGHT  77.0 ///< From the line above the levels to the foot
#define HEADING_HEIGHT 51.0 ///< From the plot's foot to the first row

// ---------------------------------------------------------------------------
// What can be pointed at and have the keys

typedef enum {
  ITEM_ROW,   ///< A control with its scale, or with words
  ITEM_CHECK, ///< A toggle with a box
  ITEM_UNDO,
  ITEM_REDO,
  ITEM_COPY,
  ITEM_PASTE,
  ITEM_MENU,
  ITEM_MATCH,
  ITEM_MEMORY, ///< A or B: `param` is 0 or 1
  ITEM_BLIND,
  ITEM_ENTRY, ///< Of a row's menu: `param` is a row_entry
  ITEM_SETUP, ///< In the menu of setups: `param` is its place in the list
  ITEM_MORE,
  ITEM_DEFAULTS,
  ITEM_SAVE,
  ITEM_GROUP,      ///< Opens the menu of groups
  ITEM_GROUP_LINE, ///< In it: `param` is its place
  ITEM_TRACK_ROW,  ///< In it: choice of a row's number
  ITEM_OFFER,      ///< In it: a row of other windows; `param`: which
  ITEM_WHOLE_ROW,  ///< Compares the row
  ITEM_ANSWER,     ///< To what the line of help asks: `param` says which
  ITEM_ACT,        ///< The picture's word
  ITEM_GROUND,     ///< In the menu: choices of words
  ITEM_SCALE,
} item_kind;

typedef struct {
  item_kind   kind;
  uint32_t    param;             ///< Of rows and checks; see the others
  const char* name;              ///< As the sheet says it
  chart_box   box;               ///< To be pressed
  double      x, w;              ///< Of the scale
  bool        is_in_header;      ///< A choice without name, in one line
  bool        is_in_menu;        ///< While a menu is open only these count
  chart_box   word[FRAME_WORDS]; ///< Of choices
  uint32_t    n_words;
} item;

// ---------------------------------------------------------------------------
// State

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

/// A against B at equal loudness, see frame_compare.c
typedef struct {
  bool     was_on;
  uint32_t anchor;       ///< The memory that plays at its own trim
  bool     is_comparing; ///< The trim is not the stored one
  float    stored_db;    ///< It, then
  float    heard_db;     ///< And the one that plays
  double   heard_s;      ///< Playing since a control moved
  double   steady_s;     ///< Of that, since the loudness moved
  double   steady_db;
} compare_state;

/// A against B without knowing which is which, see frame_blind.c
typedef struct {
  bool     is_on;
  bool     is_swapped; ///< 1 is B, 2 is A
  uint32_t from;       ///< The memory that played before
} blind_state;

/// The setup that was loaded or saved last, see frame_loaded.c
typedef struct {
  char*       path; ///< NULL: none
  char        name[SETUP_NAME];
  float       values[FRAME_PARAMS];
  bool        differs; ///< The controls stand otherwise by now
  setup_watch watch;
  double      next_s;     ///< When its files are looked at again
  bool        is_offered; ///< A file has changed, and moves controls
  float       offered[FRAME_PARAMS];
  char        changed[SETUP_NAME]; ///< Its name
} loaded_state;

/// The row that is compared as a whole, see frame_track_row.c
typedef struct {
  track_row row;
  int       port;       ///< Its control
  bool      has_turned; ///< This stage was on, and is to be again
  bool      was_on;     ///< Equal loudness
  bool      is_heard;   ///< Long enough
  double    heard_s, steady_s, steady_db;
  char      name[12]; ///< As the line of help says it
} track_row_state;

struct frame {
  plugin_form    form;
  frame_host     host;
  prefs_host     prefs;
  unsigned       prefs_count;
  const picture* pic;
  sheet          rows;

  // Values
  float    value[FRAME_PARAMS];
  float    settled[FRAME_PARAMS]; ///< As before the gesture under way
  float    meter[FRAME_METERS];
  uint32_t n_params, n_meters;
  uint32_t trim;        ///< Its control
  int      mark_param;  ///< Hidden control; below 0: there is none
  uint32_t mark;        ///< Under which the past is kept; 0: not yet
  int      match_meter; ///< Loudness of output against input, in the same way
  unsigned meter_news;  ///< Counts changes of meters
  bool     is_known[FRAME_PARAMS]; ///< The host has said it
  bool     is_late[FRAME_PARAMS];  ///< An echo waits, see frame_take_param()
  float    late[FRAME_PARAMS];
  double   written_s[FRAME_PARAMS];  ///< When the window last moved it
  double   moved_s[FRAME_PARAMS];    ///< When the host last moved it
  double   held_s[FRAME_PARAMS];     ///< When it was last held at an end
  double   followed_s[FRAME_PARAMS]; ///< When the group last moved it
  double   counted_s; ///< Playing since the last change of a control
  double   now_s;
  double   looked_s; ///< When the last whole look around was
  double   woken_s;  ///< When something was new last
  unsigned news;     ///< Counts what host, hand and other windows did
  unsigned seen_news, seen_meter_news; ///< Then
  meter_past* past;

  // Gestures
  window_past*  kept; ///< Undo and memories, which survive the window
  compare_state compare;
  blind_state   blind;
  gesture       open; ///< The one under way
  bool          is_open;
  float         origin[FRAME_PARAMS]; ///< Values before it
  bool          is_touched[FRAME_PARAMS];
  drag_state    drag;
  double        wheel_s; ///< When a wheel's gesture ends; 0: none is open
  double        press_s; ///< Of the last press, for double clicks
  int           press_item, press_handle;

  // The group
  follow          group;
  uint32_t        group_seen; ///< What the sheet shows of it
  char            group_name[12];
  track_row_state of_track;

  // What is pointed at and has the keys
  item     items[FRAME_ITEMS];
  uint32_t n_items;
  int      hover, hover_handle, focus;
  int      menu_param; ///< The open menu is that of its row; or one of MENU_
  bool     is_menu_open;
  bool     is_typing;
  bool     is_whole; ///< The next character replaces what is in the field
  char     typed[CONTROL_TEXT];
  char     said[FRAME_SAID]; ///< In the line of help until something is done

  // Setups
  loaded_state loaded;
  setup_list   menu_list; ///< While the menu is open
  setup_table* menu_table;
  uint32_t     menu_first;                ///< Of its setups that are shown
  char         menu_name[SETUP_NAME + 8]; ///< In the header
  char         save_name[SETUP_NAME + 8];
  char         save_typed[SETUP_NAME - 4]; ///< Instead of the loaded one's
  bool         save_is_sure; ///< It is there already, and that was said

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

/// Adds an item; returns it
item*
layout_add(frame* f, item_kind kind, chart_box box);

/// Places words side by side from a place on
void
layout_place_words(item*              it,
                   const chart*       c,
                   const char* const* words,
                   uint32_t           n,
                   double             x,
                   double             y);

/// Adds a word in the line of levels
item*
layout_add_level(frame*       f,
                 const chart* c,
                 item_kind    kind,
                 const char*  word,
                 double       x);

// frame_where.c

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

/// How many controls a setup may hold: the hidden ones lie behind them
static inline uint32_t
frame_shown_count(const frame* f)
{
  return shell_shown_count(f->form.plugin);
}

/// Whether the change of level is known well enough to take it off
bool
frame_can_match(const frame* f);

void
frame_match(frame* f);

/// Whether the picture's word can be pressed, and what it then does
bool
frame_can_act(const frame* f);

void
frame_act(frame* f);

/// Whether a signal comes in
bool
frame_is_playing(const frame* f);

// frame_setup.c

/// Copies the stage's section
void
setup_copy(frame* f);

/// Asks for the text that is to be pasted
void
setup_ask(frame* f);

/// Moves all controls, as one gesture; returns how many did
uint32_t
setup_take(frame* f, const float* values);

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

// frame_draw.c, frame_rows.c, frame_scale.c, frame_levels.c, frame_help.c

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

/// How a row looks just now
typedef struct {
  bool is_hover, is_focus, is_typing, is_dragged, is_auto, is_held, has_effect;
  bool follows; ///< The group has just moved it
} row_state;

void
scale_draw(const frame* f, chart* c, const item* it, row_state s);

void
levels_draw(const frame* f, chart* c);

/// What moves in the line of levels
void
levels_draw_now(const frame* f, chart* c);

/// Says something in the line of help, until something is done
__attribute__((format(printf, 2, 3))) void
frame_say(frame* f, const char* format, ...);

void
help_draw(const frame* f, chart* c);

/// Writes what is to be decided, "" for nothing
enum { HELP_QUESTION = SETUP_NAME + 192 };

void
help_question(const frame* f, char text[HELP_QUESTION]);

/// A question that comes up outranks what was said before: both need the line
void
help_ask(frame* f);

// frame_drag.c

/// Takes hold of an item or a handle: nothing moves yet
void
drag_hold(frame* f, int index, int handle, double x, double y);

void
drag_move(frame* f, const window_event* e, double x, double y);

void
drag_end(frame* f);

/// Returns the control of a row of the stage, or -1 for none
int
row_param(int stage_row);

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

/// Does what pressing Enter, or clicking, does to an item, with shift or
/// without
void
item_act(frame* f, int index, bool is_shift);

/// Moves the keys to an item
void
focus_set(frame* f, int index);

#include "frame_gestures.h"
#include "frame_group.h"
#include "frame_loaded.h"
#include "frame_memories.h"
#include "frame_menu.h"
#include "frame_track_row.h"

#endif // PLUGINS_WINDOW_FRAME_STATE_H
