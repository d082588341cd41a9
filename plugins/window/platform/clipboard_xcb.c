// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "clipboard_state.h"

#include <stdlib.h>
#include <string.h>

static bool
find_atoms(clipboard* c)
{
  static const char* const names[N_ATOMS] = {
    [ATOM_CLIPBOARD] = "CLIPBOARD", [ATOM_TARGETS] = "TARGETS",
    [ATOM_MULTIPLE] = "MULTIPLE",   [ATOM_TIMESTAMP] = "TIMESTAMP",
    [ATOM_PAIR] = "ATOM_PAIR",      [ATOM_INCR] = "INCR",
    [ATOM_UTF8] = "UTF8_STRING",    [ATOM_PLAIN] = "text/plain;charset=utf-8",
    [ATOM_TEXT] = "TEXT",           [ATOM_HERE] = "DUSTCAP_CLIPBOARD",
  };
  xcb_intern_atom_cookie_t asked[N_ATOMS];
  bool                     ok = true;
  for (int i = 0; i < N_ATOMS; ++i) {
    asked[i] = xcb_intern_atom(c->connection, false, (uint16_t)strlen(names[i]),
                               names[i]);
  }
  for (int i = 0; i < N_ATOMS; ++i) {
    xcb_intern_atom_reply_t* const r =
      xcb_intern_atom_reply(c->connection, asked[i], NULL);
    c->atoms[i] = r ? r->atom : XCB_ATOM_NONE;
    ok          = ok && r;
    free(r);
  }
  return ok;
}

/// A window that nobody sees: texts travel between windows
static void
make_window(clipboard* c, const xcb_screen_t* screen)
{
  const uint32_t wanted = XCB_EVENT_MASK_PROPERTY_CHANGE;
  c->window             = xcb_generate_id(c->connection);
  xcb_create_window(c->connection, XCB_COPY_FROM_PARENT, c->window,
                    screen->root, 0, 0, 1, 1, 0, XCB_WINDOW_CLASS_INPUT_ONLY,
                    XCB_COPY_FROM_PARENT, XCB_CW_EVENT_MASK, &wanted);
}

clipboard*
clipboard_open(void)
{
  clipboard* const c = calloc(1, sizeof(*c));
  if (!c) {
    return NULL;
  }
  c->connection = xcb_connect(NULL, NULL);
  if (xcb_connection_has_error(c->connection) || !find_atoms(c)) {
    clipboard_close(c);
    return NULL;
  }
  make_window(c, xcb_setup_roots_iterator(xcb_get_setup(c->connection)).data);
  return c;
}

void
clipboard_close(clipboard* c)
{
  xcb_disconnect(c->connection);
  free(c->offered);
  free(c->got);
  free(c);
}

static clipboard_answer
take_event(clipboard* c, const xcb_generic_event_t* e, double now_s)
{
  const xcb_property_notify_event_t* const p = (const void*)e;
  switch (e->response_type & 0x7FU) {
    case XCB_SELECTION_REQUEST:
      owner_answer(c, (const void*)e);
      return CLIPBOARD_NOTHING;
    case XCB_SELECTION_CLEAR:
      owner_lose(c);
      return CLIPBOARD_NOTHING;
    case XCB_SELECTION_NOTIFY:
      return asker_take(c, (const void*)e, now_s);
    case XCB_PROPERTY_NOTIFY:
      return c->state == ASKING_PIECES && p->atom == c->atoms[ATOM_HERE] &&
                 p->state == XCB_PROPERTY_NEW_VALUE
               ? asker_take_piece(c, now_s)
               : CLIPBOARD_NOTHING;
    default: // Errors too: who asked may be gone
      return CLIPBOARD_NOTHING;
  }
}

clipboard_answer
clipboard_serve(clipboard* c, double now_s, const char** text, size_t* length)
{
  clipboard_answer     answer = CLIPBOARD_NOTHING;
  xcb_generic_event_t* e      = NULL;
  while (answer == CLIPBOARD_NOTHING &&
         (e = xcb_poll_for_event(c->connection))) {
    answer = take_event(c, e, now_s);
    free(e);
  }
  (void)xcb_flush(c->connection);
  if (answer == CLIPBOARD_NOTHING && c->state != ASKING_NOT &&
      (now_s - c->heard_s > CLIPBOARD_WAIT_S ||
       xcb_connection_has_error(c->connection))) {
    c->state = ASKING_NOT;
    answer   = CLIPBOARD_LATE;
  }
  *text   = answer == CLIPBOARD_TEXT ? c->got : NULL;
  *length = answer == CLIPBOARD_TEXT ? c->n_got : 0;
  return answer;
}
