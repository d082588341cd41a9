// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the files of the clipboard share: private to clipboard_*.c
///
/// It has a connection of its own, by xcb: a window that asks may be gone when
/// the answer goes out, which is an error on the connection.  To xcb that is an
/// event; Xlib would end the process, or take the host's error handler away.

#ifndef PLUGINS_WINDOW_PLATFORM_CLIPBOARD_STATE_H
#define PLUGINS_WINDOW_PLATFORM_CLIPBOARD_STATE_H

#include "clipboard.h"

#include <xcb/xcb.h>

enum {
  ATOM_CLIPBOARD,
  ATOM_TARGETS,
  ATOM_MULTIPLE,
  ATOM_TIMESTAMP,
  ATOM_PAIR,
  ATOM_INCR,
  ATOM_UTF8,
  ATOM_PLAIN,
  ATOM_TEXT,
  ATOM_HERE, ///< Property in which answers arrive
  N_ATOMS,
};

typedef enum {
  ASKING_NOT,
  ASKING_UTF8,
  ASKING_LATIN, ///< UTF-8 was refused
  ASKING_PIECES,
} asking;

struct clipboard {
  xcb_connection_t* connection;
  xcb_window_t      window;
  xcb_atom_t        atoms[N_ATOMS];

  // What we offer
  char*    offered;
  size_t   n_offered;
  uint32_t offered_time;
  bool     is_ascii;
  unsigned number; ///< Of the offer, among those of all windows

  // What we ask for
  asking                           state;
  xcb_get_selection_owner_cookie_t owner;     ///< Asked for with the text
  bool                             has_owner; ///< The cookie is open
  uint32_t                         asked_time;
  double                           heard_s; ///< When its owner last answered
  char*                            got;
  size_t                           n_got;
};

// clipboard_owner.c

/// Answers a window that asks for our text
void
owner_answer(clipboard* c, const xcb_selection_request_event_t* e);

/// Somebody else copied something
void
owner_lose(clipboard* c);

/// Copies what a window of this process offered last, open or not; NULL if
/// nobody did since another program's text was met
char*
owner_kept(size_t* length);

/// A text was on the clipboard, or with NULL something else
void
owner_met(const char* text, size_t length);

// clipboard_asker.c

/// An answer to our question has come
clipboard_answer
asker_take(clipboard* c, const xcb_selection_notify_event_t* e, double now_s);

/// A piece of a long text has come
clipboard_answer
asker_take_piece(clipboard* c, double now_s);

#endif // PLUGINS_WINDOW_PLATFORM_CLIPBOARD_STATE_H
