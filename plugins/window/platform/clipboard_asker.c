// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The side that asks: Inter-Client Communication Conventions Manual 2.0,
/// sections 2.4 and 2.7.2 (long texts come in pieces)

#include "clipboard_state.h"

#include <stdlib.h>
#include <string.h>

/// Asks in one form
static void
convert(clipboard* c, asking state)
{
  const xcb_atom_t form =
    state == ASKING_UTF8 ? c->atoms[ATOM_UTF8] : XCB_ATOM_STRING;
  c->state = state;
  xcb_convert_selection(c->connection, c->window, c->atoms[ATOM_CLIPBOARD],
                        form, c->atoms[ATOM_HERE], c->asked_time);
  (void)xcb_flush(c->connection);
}

void
clipboard_ask(clipboard* c, uint32_t time, double now_s)
{
  if (c->has_owner) {
    xcb_discard_reply(c->connection, c->owner.sequence);
  }
  free(c->got);
  c->got        = NULL;
  c->n_got      = 0;
  c->asked_time = time;
  c->heard_s    = now_s;
  c->owner = xcb_get_selection_owner(c->connection, c->atoms[ATOM_CLIPBOARD]);
  c->has_owner = true;
  convert(c, ASKING_UTF8);
}

/// Takes what is in our property, and removes it, which asks for the next piece
static xcb_get_property_reply_t*
take_property(clipboard* c)
{
  return xcb_get_property_reply(
    c->connection,
    xcb_get_property(c->connection, true, c->window, c->atoms[ATOM_HERE],
                     XCB_GET_PROPERTY_TYPE_ANY, 0, CLIPBOARD_MOST_IN / 4 + 1),
    NULL);
}

/// Adds a piece to what has come
static clipboard_answer
add(clipboard* c, const xcb_get_property_reply_t* r)
{
  const size_t n = (size_t)xcb_get_property_value_length(r);
  if (r->bytes_after || n > CLIPBOARD_MOST_IN - c->n_got) {
    return CLIPBOARD_TOO_LONG;
  }
  char* const more = realloc(c->got, c->n_got + n + 1);
  if (!more) {
    return CLIPBOARD_TOO_LONG;
  }
  c->got = more;
  memcpy(c->got + c->n_got, xcb_get_property_value(r), n);
  c->n_got += n;
  c->got[c->n_got] = '\0';
  return CLIPBOARD_TEXT;
}

/// What was copied in a window of this process that is closed by now has no
/// owner, but is kept
static clipboard_answer
take_kept(clipboard* c)
{
  xcb_get_selection_owner_reply_t* const r =
    c->has_owner ? xcb_get_selection_owner_reply(c->connection, c->owner, NULL)
                 : NULL;
  const bool has_none = r && r->owner == XCB_WINDOW_NONE;
  c->has_owner        = false;
  free(r);
  if (!has_none) {
    owner_met(NULL, 0);
  }
  c->got = has_none ? owner_kept(&c->n_got) : NULL;
  return c->got ? CLIPBOARD_TEXT : CLIPBOARD_NONE;
}

static clipboard_answer
end(clipboard* c, clipboard_answer answer)
{
  c->state = ASKING_NOT;
  if (answer == CLIPBOARD_TEXT) {
    owner_met(c->got, c->n_got);
  }
  return answer;
}

clipboard_answer
asker_take(clipboard* c, const xcb_selection_notify_event_t* e, double now_s)
{
  const bool is_asking = c->state == ASKING_UTF8 || c->state == ASKING_LATIN;
  if (!is_asking || e->requestor != c->window ||
      e->selection != c->atoms[ATOM_CLIPBOARD] ||
      (e->target == XCB_ATOM_STRING) != (c->state == ASKING_LATIN)) {
    return CLIPBOARD_NOTHING;
  }
  c->heard_s = now_s;
  if (e->property == XCB_ATOM_NONE) {
    if (c->state == ASKING_LATIN) {
      c->state = ASKING_NOT;
      return take_kept(c);
    }
    convert(c, ASKING_LATIN);
    return CLIPBOARD_NOTHING;
  }
  xcb_get_property_reply_t* const r      = take_property(c);
  clipboard_answer                answer = CLIPBOARD_NOTHING;
  if (!r || r->type == XCB_ATOM_NONE) {
    answer = end(c, CLIPBOARD_NONE);
  } else if (r->type == c->atoms[ATOM_INCR]) {
    c->state = ASKING_PIECES;
  } else {
    answer = end(c, add(c, r));
  }
  free(r);
  return answer;
}

clipboard_answer
asker_take_piece(clipboard* c, double now_s)
{
  xcb_get_property_reply_t* const r      = take_property(c);
  clipboard_answer                answer = CLIPBOARD_NOTHING;
  c->heard_s                             = now_s;
  if (!r ||
      (r->type != XCB_ATOM_NONE && xcb_get_property_value_length(r) == 0)) {
    answer = end(c, c->got ? CLIPBOARD_TEXT : CLIPBOARD_NONE); // The last
  } else if (r->type != XCB_ATOM_NONE && add(c, r) == CLIPBOARD_TOO_LONG) {
    answer = end(c, CLIPBOARD_TOO_LONG);
  }
  free(r);
  return answer;
}
