// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The side of the owner: Inter-Client Communication Conventions Manual 2.0,
/// section 2.2

#include "clipboard_state.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PAIRS = 32 };

static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
static char*           kept; ///< Last text that any window of ours offered
static size_t          n_kept;
static unsigned        n_offers; ///< So far, of all windows

/// Returns the number of the offer
static unsigned
keep(const char* text, size_t length)
{
  (void)pthread_mutex_lock(&mutex);
  free(kept);
  kept   = malloc(length + 1);
  n_kept = kept ? length : 0;
  if (kept) {
    memcpy(kept, text, length);
    kept[length] = '\0';
  }
  const unsigned number = ++n_offers;
  (void)pthread_mutex_unlock(&mutex);
  return number;
}

char*
owner_kept(size_t* length)
{
  (void)pthread_mutex_lock(&mutex);
  char* const copy = kept ? malloc(n_kept + 1) : NULL;
  *length          = copy ? n_kept : 0;
  if (copy) {
    memcpy(copy, kept, n_kept + 1);
  }
  (void)pthread_mutex_unlock(&mutex);
  return copy;
}

/// Under the mutex
static void
forget(void)
{
  free(kept);
  kept   = NULL;
  n_kept = 0;
}

void
owner_met(const char* text, size_t length)
{
  (void)pthread_mutex_lock(&mutex);
  if (kept && (!text || length != n_kept || memcmp(text, kept, n_kept) != 0)) {
    forget();
  }
  (void)pthread_mutex_unlock(&mutex);
}

void
owner_lose(clipboard* c)
{
  // It may be another window of ours, whose text is kept by now
  (void)pthread_mutex_lock(&mutex);
  if (c->number == n_offers) {
    forget();
  }
  (void)pthread_mutex_unlock(&mutex);
  free(c->offered);
  c->offered   = NULL;
  c->n_offered = 0;
}

/// Asks the server, so that whoever asks next finds us
static bool
is_owner(const clipboard* c)
{
  xcb_get_selection_owner_reply_t* const r = xcb_get_selection_owner_reply(
    c->connection,
    xcb_get_selection_owner(c->connection, c->atoms[ATOM_CLIPBOARD]), NULL);
  const bool is_ours = r && r->owner == c->window;
  free(r);
  return is_ours;
}

bool
clipboard_offer(clipboard* c, const char* text, size_t length, uint32_t time)
{
  char* const copy = length <= CLIPBOARD_MOST_OUT ? malloc(length + 1) : NULL;
  if (!copy || xcb_connection_has_error(c->connection)) {
    free(copy);
    return false;
  }
  memcpy(copy, text, length);
  free(c->offered);
  c->offered      = copy;
  c->n_offered    = length;
  c->offered_time = time;
  c->is_ascii     = true;
  for (size_t i = 0; i < length; ++i) {
    c->is_ascii = c->is_ascii && (unsigned char)text[i] < 0x80;
  }
  c->number = keep(text, length);
  xcb_set_selection_owner(c->connection, c->window, c->atoms[ATOM_CLIPBOARD],
                          time);
  return is_owner(c);
}

// ---------------------------------------------------------------------------
// Answers

static void
put_targets(clipboard* c, xcb_window_t to, xcb_atom_t property)
{
  const xcb_atom_t targets[] = {
    c->atoms[ATOM_TARGETS], c->atoms[ATOM_TIMESTAMP], c->atoms[ATOM_MULTIPLE],
    c->atoms[ATOM_UTF8],    c->atoms[ATOM_PLAIN],     c->atoms[ATOM_TEXT],
    XCB_ATOM_STRING,
  };
  const uint32_t n = sizeof(targets) / sizeof(targets[0]) - !c->is_ascii;
  xcb_change_property(c->connection, XCB_PROP_MODE_REPLACE, to, property,
                      XCB_ATOM_ATOM, 32, n, targets);
}

/// Puts our text in one form into a property of a window; false if we have no
/// such form.  It is short enough for one request.
static bool
put(clipboard* c, xcb_window_t to, xcb_atom_t target, xcb_atom_t property)
{
  const xcb_atom_t* const a = c->atoms;
  if (target == a[ATOM_TARGETS]) {
    put_targets(c, to, property);
    return true;
  }
  if (target == a[ATOM_TIMESTAMP]) {
    xcb_change_property(c->connection, XCB_PROP_MODE_REPLACE, to, property,
                        XCB_ATOM_INTEGER, 32, 1, &c->offered_time);
    return true;
  }
  const bool is_text = target == a[ATOM_UTF8] || target == a[ATOM_PLAIN] ||
                       target == a[ATOM_TEXT] ||
                       (target == XCB_ATOM_STRING && c->is_ascii);
  if (is_text) {
    const xcb_atom_t type = target == a[ATOM_TEXT] ? a[ATOM_UTF8] : target;
    xcb_change_property(c->connection, XCB_PROP_MODE_REPLACE, to, property,
                        type, 8, (uint32_t)c->n_offered, c->offered);
  }
  return is_text;
}

/// Several forms at once: the property lists pairs of a form and a property;
/// what cannot be had becomes none
static bool
put_several(clipboard* c, xcb_window_t to, xcb_atom_t property)
{
  xcb_get_property_reply_t* const r = xcb_get_property_reply(
    c->connection,
    xcb_get_property(c->connection, false, to, property,
                     XCB_GET_PROPERTY_TYPE_ANY, 0, 2 * MOST_PAIRS),
    NULL);
  if (!r || r->format != 32) {
    free(r);
    return false;
  }
  xcb_atom_t* const pairs = xcb_get_property_value(r);
  const size_t      n     = r->value_len / 2;
  for (size_t i = 0; i < n; ++i) {
    if (pairs[2 * i] == c->atoms[ATOM_MULTIPLE] ||
        !put(c, to, pairs[2 * i], pairs[2 * i + 1])) {
      pairs[2 * i + 1] = XCB_ATOM_NONE;
    }
  }
  xcb_change_property(c->connection, XCB_PROP_MODE_REPLACE, to, property,
                      c->atoms[ATOM_PAIR], 32, (uint32_t)(2 * n), pairs);
  free(r);
  return true;
}

void
owner_answer(clipboard* c, const xcb_selection_request_event_t* e)
{
  // Old clients name no property: that of the form is meant
  const xcb_atom_t property = e->property ? e->property : e->target;
  const bool       is_ours =
    c->offered && e->owner == c->window &&
    e->selection == c->atoms[ATOM_CLIPBOARD] &&
    (e->time == XCB_CURRENT_TIME || c->offered_time == XCB_CURRENT_TIME ||
     (int32_t)(e->time - c->offered_time) >= 0); // Times wrap
  const bool has_put =
    is_ours &&
    (e->target == c->atoms[ATOM_MULTIPLE]
       ? e->property != XCB_ATOM_NONE && put_several(c, e->requestor, property)
       : put(c, e->requestor, e->target, property));

  const xcb_selection_notify_event_t told = {
    .response_type = XCB_SELECTION_NOTIFY,
    .time          = e->time,
    .requestor     = e->requestor,
    .selection     = e->selection,
    .target        = e->target,
    .property      = has_put ? property : XCB_ATOM_NONE,
  };
  char event[32] = {0}; // As many bytes go out
  memcpy(event, &told, sizeof(told));
  xcb_send_event(c->connection, false, e->requestor, XCB_EVENT_MASK_NO_EVENT,
                 event);
}
