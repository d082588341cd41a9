// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a window remembers of the hand's doings: two memories of the controls,
/// the gestures that can be undone, and the setup that was loaded.  It outlives
/// the window: it is kept under the mark of the plugin's instance while the
/// host runs.

#ifndef PLUGINS_WINDOW_PAST_H
#define PLUGINS_WINDOW_PAST_H

#include "plugins/shell.h"

enum {
  PAST_PARAMS = shell_n_params + PARAMS_MAX,
  PAST_STEPS  = 64,
  PAST_CLOSED = 32, ///< So many are kept without a window
  PAST_PATH   = 1024,
};

typedef struct {
  uint32_t param;
  float    from, to; ///< Of the trim: without what a comparison adds
} move;

typedef enum {
  GESTURE_MOVE,   ///< Controls moved
  GESTURE_SWITCH, ///< The other memory was called up
  GESTURE_COPY,   ///< The memory that plays was copied to the other
} gesture_kind;

/// One gesture
typedef struct {
  gesture_kind kind;
  bool         is_alone; ///< Others of the group did not follow
  uint32_t     n;
  move         moves[PAST_PARAMS];
} gesture;

typedef struct {
  gesture  steps[PAST_STEPS];
  uint32_t n, at; ///< `at` of them are done
} history;

/// One of two settings of all that shapes the sound
typedef struct {
  float  value[PAST_PARAMS];
  double loudness_db; ///< Of the output against the input, before the trim
  bool   is_known;    ///< It was heard long enough to know that
  bool   is_heard;    ///< And has not changed since
} memory;

/// The setup that was loaded or saved last
typedef struct {
  char  path[PAST_PATH]; ///< "": none, or one too long to be kept
  float values[PAST_PARAMS];
} past_setup;

typedef struct {
  history  undo;
  memory   of[2];
  uint32_t now;     ///< Which memory plays; its values are the host's
  bool     is_made; ///< Else the other is as this one

  past_setup setup;
} window_past;

/// NULL without memory
window_past*
past_new(void);

/// Keeps a past, once, under a mark of an instance of a form; false if that
/// mark is taken
bool
past_keep(window_past* p, const char* uri, uint32_t mark);

/// Takes up the past that is kept under a mark: it takes the place of `*p`,
/// which is kept nowhere; or keeps `*p` if there is none.  False if another
/// window shows it: then `*p` is a copy of it, and needs another mark.
bool
past_claim(window_past** p, const char* uri, uint32_t mark);

/// A window has closed: keeps its past if it has a mark, and frees it if not
void
past_leave(window_past* p);

#endif // PLUGINS_WINDOW_PAST_H
