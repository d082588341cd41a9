// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One window's sheet, without a window system: title, figures, rows of
/// controls, the line of levels, help; what pointer and keys do to them; what
/// goes to the host.  It draws into an image of its own and says which parts of
/// it are new.
///
/// Controls and meters have the indices of shell_param() and shell_meter().
///
/// For the user interface's thread; nothing waits or takes long.

#ifndef PLUGINS_WINDOW_FRAME_H
#define PLUGINS_WINDOW_FRAME_H

#include "plugins/shell.h"
#include "plugins/window/follow/message.h"
#include "plugins/window/platform/platform.h"
#include "prefs.h"

/// The sheet at scale 1, in px
#define FRAME_WIDTH  760
#define FRAME_HEIGHT 480

/// What the frame asks of its host
typedef struct {
  void* handle;
  void (*write)(void* handle, uint32_t param, float value);
  /// A gesture begins or ends; NULL if the host does not want to know
  void (*touch)(void* handle, uint32_t param, bool is_held);
  /// Another size is wanted, in device pixels
  void (*resize)(void* handle, int width, int height);
  /// Puts a text on the clipboard; false if that cannot be.  NULL without one.
  bool (*copy)(void* handle, const char* text, size_t length);
  /// Asks for the text there: it comes by frame_paste()
  bool (*ask)(void* handle);
  /// Folder of the shipped setups; NULL without.  It must outlive the sheet.
  const char* setups;
  /// Says something to all windows; NULL without others
  void (*say)(void* handle, const window_message* m);
} frame_host;

typedef struct frame frame;

/// Makes the sheet of a form; NULL without memory
frame*
frame_new(const plugin_form* form,
          const frame_host*  host,
          const prefs_host*  prefs);

/// Takes the text of the clipboard: this stage's section of it, as one gesture.
/// Without a text `why` says why there is none.
void
frame_paste(frame* f, const char* text, size_t length, const char* why);

/// Ends a gesture that is under way, and frees
void
frame_free(frame* f);

/// The size that the window should have, in device pixels
void
frame_wanted_size(const frame* f, int* width, int* height);

/// The size that it has.  False without memory: the old picture stays.
bool
frame_resize(frame* f, int width, int height);

/// A control as the host has it, and a meter
void
frame_take_param(frame* f, uint32_t param, float value);

void
frame_take_meter(frame* f, uint32_t meter, float value);

/// What a window said to all
void
frame_take_message(frame* f, const window_message* m);

/// Returns whether the event was of use
bool
frame_event(frame* f, const window_event* e);

/// Lets time pass: at least 10 times a second
void
frame_tick(frame* f, double now_s);

/// Draws what has changed.  Returns the picture; writes the parts of it that
/// are new since the last call, at most `most`, and their number.
platform_pixels
frame_paint(frame* f, platform_box* boxes, uint32_t most, uint32_t* n);

/// The next frame_paint() says that all is new
void
frame_expose(frame* f);

/// Whether all that is to be computed for the figures has been
bool
frame_is_settled(const frame* f);

// ---------------------------------------------------------------------------
// For tests

/// Where the scale of a control (as in shell_param()) lies, in device pixels;
/// false if the sheet does not show it
bool
frame_scale_of(const frame* f,
               uint32_t     param,
               double*      x0,
               double*      x1,
               double*      y);

/// Where its figure, or choice `choice`, lies
bool
frame_figure_of(const frame* f, uint32_t param, double* x, double* y);

bool
frame_choice_of(const frame* f,
                uint32_t     param,
                uint32_t     choice,
                double*      x,
                double*      y);

/// Where a word of the frame or of an open menu lies ("match", "undo", "A",
/// "blind", "window")
bool
frame_word_of(const frame* f, const char* word, double* x, double* y);

/// Where word `choice` of a menu's line lies ("number of the row")
bool
frame_menu_choice_of(const frame* f,
                     const char*  line,
                     uint32_t     choice,
                     double*      x,
                     double*      y);

/// Where handle `i` of the figures lies; false if there is none
bool
frame_handle_of(const frame* f, uint32_t i, double* x, double* y);

float
frame_param(const frame* f, uint32_t param);

/// Which control has the keys, or -1
int
frame_focus_param(const frame* f);

/// What the line of help asks, "" for nothing
const char*
frame_question(const frame* f);

/// The message in the line of help, "" for none
const char*
frame_said(const frame* f);

#endif // PLUGINS_WINDOW_FRAME_H
