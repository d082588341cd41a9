// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "selection_x11.h"

#include <X11/Xatom.h>

#include <stdlib.h>
#include <string.h>

static Atom
atom(Display* display, const char* name)
{
  return XInternAtom(display, name, False);
}

void
selection_free(selection* s)
{
  free(s->text);
  s->text = NULL;
}

void
selection_offer(selection*  s,
                Display*    display,
                Window      window,
                Time        time,
                const char* text)
{
  const size_t size = strlen(text) + 1;
  char* const  copy = malloc(size);
  if (!copy) {
    return;
  }
  memcpy(copy, text, size);
  selection_free(s);
  s->text = copy;
  XSetSelectionOwner(display, atom(display, "CLIPBOARD"), window, time);
  XSetSelectionOwner(display, XA_PRIMARY, window, time);
  XFlush(display);
}

/// Writes the text, or the kinds of text there are, to the asking window;
/// returns the property, or None for a kind that there is not
static Atom
answer(const selection* s, const XSelectionRequestEvent* q)
{
  Display* const d        = q->display;
  const Atom     targets  = atom(d, "TARGETS");
  const Atom     utf8     = atom(d, "UTF8_STRING");
  const Atom     kinds[]  = {targets, utf8, XA_STRING};
  const Atom     property = q->property != None ? q->property : q->target;
  if (!s->text) {
    return None;
  }
  if (q->target == targets) {
    XChangeProperty(d, q->requestor, property, XA_ATOM, 32, PropModeReplace,
                    (const unsigned char*)kinds,
                    (int)(sizeof(kinds) / sizeof(kinds[0])));
    return property;
  }
  if (q->target == utf8 || q->target == XA_STRING) {
    XChangeProperty(d, q->requestor, property, q->target, 8, PropModeReplace,
                    (const unsigned char*)s->text, (int)strlen(s->text));
    return property;
  }
  return None;
}

static void
reply(const selection* s, const XSelectionRequestEvent* q)
{
  XEvent e = {.xselection = {.type      = SelectionNotify,
                             .requestor = q->requestor,
                             .selection = q->selection,
                             .target    = q->target,
                             .property  = answer(s, q),
                             .time      = q->time}};
  XSendEvent(q->display, q->requestor, False, NoEventMask, &e);
  XFlush(q->display);
}

bool
selection_event(selection* s, const XEvent* e)
{
  switch (e->type) {
    case SelectionRequest:
      reply(s, &e->xselectionrequest);
      return true;
    case SelectionClear: // Another program has the clipboard now
      if (e->xselectionclear.selection != XA_PRIMARY) {
        selection_free(s);
      }
      return true;
    default:
      return false;
  }
}
