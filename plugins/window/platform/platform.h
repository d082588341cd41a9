// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A child window of a host's, on the window system that the build has: its
/// events in neutral words, and pixels to show.  One file per window system.
///
/// Each window has a connection of its own, so that neither the host's nor
/// another window's errors reach it.  Text never goes through the window
/// system: closing one of two connections of a process would free the glyphs of
/// the other, and end the process.
///
/// For the user interface's thread.

#ifndef PLUGINS_WINDOW_PLATFORM_PLATFORM_H
#define PLUGINS_WINDOW_PLATFORM_PLATFORM_H

#include "plugins/window/follow/message.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum {
  EVENT_PRESS,   ///< Of the first button
  EVENT_MENU,    ///< Of the one for menus
  EVENT_RELEASE, ///< Of the first button
  EVENT_MOVE,
  EVENT_LEAVE, ///< The pointer left
  EVENT_WHEEL,
  EVENT_KEY,
  EVENT_UNFOCUSED, ///< Keys go elsewhere
} event_kind;

typedef enum {
  KEY_TEXT, ///< A character: `text`
  KEY_TAB,
  KEY_BACK_TAB,
  KEY_LEFT,
  KEY_RIGHT,
  KEY_UP,
  KEY_DOWN,
  KEY_PAGE_UP,
  KEY_PAGE_DOWN,
  KEY_HOME,
  KEY_END,
  KEY_ENTER,
  KEY_ESCAPE,
  KEY_DELETE,
  KEY_BACKSPACE,
  KEY_MENU, ///< Or Shift and F10
  KEY_OTHER,
} event_key;

typedef struct {
  event_kind kind;
  double     x, y;   ///< Device pixels
  double     time_s; ///< Of a clock that does not jump
  double     wheel;  ///< Clicks away from the user
  event_key  key;
  char       text; ///< ASCII, lower case with ctrl
  bool       shift, ctrl;
} window_event;

/// What is drawn, 32 bits a pixel (0xFFRRGGBB in the machine's order)
typedef struct {
  unsigned char* data;
  int            width, height, stride;
} platform_pixels;

typedef struct {
  int x, y, w, h;
} platform_box;

typedef struct {
  void* handle;
  /// Returns whether the event was of use; a key that was not goes back to the
  /// host
  bool (*event)(void* handle, const window_event* e);
  void (*size)(void* handle, int width, int height);
  void (*expose)(void* handle);
  /// Something that another window, or this one, said to all
  void (*message)(void* handle, const window_message* m);
} platform_client;

typedef struct platform platform;

/// Opens a window inside `parent` (0: on its own); NULL without a display
platform*
platform_open(uintptr_t              parent,
              int                    width,
              int                    height,
              const char*            title,
              const platform_client* client);

void
platform_close(platform* p);

/// Returns the id of the window, for the host
uintptr_t
platform_window(const platform* p);

/// Hands out all events that wait; false once the window is gone
bool
platform_events(platform* p);

/// Returns the display's time of the last press or key, for the clipboard
uint32_t
platform_event_time(const platform* p);

/// Whether any of the window can be seen
bool
platform_is_visible(const platform* p);

void
platform_put(platform*              p,
             const platform_pixels* pixels,
             const platform_box*    boxes,
             uint32_t               n);

/// Says something to all windows of ours on the same display, of this process
/// and of others, this one included
void
platform_say(platform* p, const window_message* m);

/// Resizes a window that has no host to do it
void
platform_resize(platform* p, int width, int height);

/// Returns the seconds of a clock that does not jump
double
platform_now_s(void);

#endif // PLUGINS_WINDOW_PLATFORM_PLATFORM_H
