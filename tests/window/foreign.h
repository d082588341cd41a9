// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Another program on the display, by Xlib, as the Inter-Client Communication
/// Conventions Manual 2.0, section 2, has it: asks for what is on the
/// clipboard, or owns it, be it with a long text in pieces

#ifndef TESTS_WINDOW_FOREIGN_H
#define TESTS_WINDOW_FOREIGN_H

#include "tests/support/check.h"

#include <X11/Xatom.h>
#include <X11/Xlib.h>

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  Display* display;
  Window   window;
  Atom     clipboard, here, incr, utf8;

  // As an owner
  const char* text;
  size_t      length, piece; ///< 0: all at once
  size_t      sent;
  bool        is_silent; ///< Never answers
  Window      to;        ///< Gets pieces
  Atom        property;

  // As one who asks
  unsigned char got[65536];
  size_t        n_got;
  Atom          type;
  bool          is_refused, is_answered;
} foreign;

static inline void
foreign_open(foreign* x)
{
  memset(x, 0, sizeof(*x));
  x->display = XOpenDisplay(NULL);
  assert_non_null(x->display);
  x->window = XCreateSimpleWindow(x->display, DefaultRootWindow(x->display), 0,
                                  0, 1, 1, 0, 0, 0);
  x->clipboard = XInternAtom(x->display, "CLIPBOARD", False);
  x->here      = XInternAtom(x->display, "HERE", False);
  x->incr      = XInternAtom(x->display, "INCR", False);
  x->utf8      = XInternAtom(x->display, "UTF8_STRING", False);
  XSync(x->display, False);
}

static inline Atom
foreign_atom(const foreign* x, const char* name)
{
  return XInternAtom(x->display, name, False);
}

static inline void
foreign_own(foreign* x, const char* text, size_t length, size_t piece)
{
  x->text   = text;
  x->length = length;
  x->piece  = piece;
  XSetSelectionOwner(x->display, x->clipboard, x->window, CurrentTime);
  XSync(x->display, False);
}

static inline void
foreign_ask(foreign* x, const char* form)
{
  x->is_answered = x->is_refused = false;
  x->n_got                       = 0;
  XConvertSelection(x->display, x->clipboard, foreign_atom(x, form), x->here,
                    x->window, CurrentTime);
  XFlush(x->display);
}

static inline void
foreign_answer(foreign* x, const XSelectionRequestEvent* e)
{
  XEvent     told = {.xselection = {.type      = SelectionNotify,
                                    .requestor = e->requestor,
                                    .selection = e->selection,
                                    .target    = e->target,
                                    .time      = e->time,
                                    .property  = e->property}};
  const long size = (long)x->length;
  if (e->target != x->utf8 || !x->text) {
    told.xselection.property = None;
  } else if (x->piece) {
    XSelectInput(x->display, e->requestor, PropertyChangeMask);
    XChangeProperty(x->display, e->requestor, e->property, x->incr, 32,
                    PropModeReplace, (const unsigned char*)&size, 1);
    x->to       = e->requestor;
    x->property = e->property;
    x->sent     = 0;
  } else {
    XChangeProperty(x->display, e->requestor, e->property, x->utf8, 8,
                    PropModeReplace, (const unsigned char*)x->text, (int)size);
  }
  XSendEvent(x->display, e->requestor, False, 0, &told);
}

/// The last piece was taken: the next one, the last of which is empty
static inline void
foreign_send_piece(foreign* x)
{
  const size_t left = x->length - x->sent;
  const size_t n    = left < x->piece ? left : x->piece;
  XChangeProperty(x->display, x->to, x->property, x->utf8, 8, PropModeReplace,
                  (const unsigned char*)x->text + x->sent, (int)n);
  x->sent += n;
  x->to = n ? x->to : None;
}

static inline void
foreign_take(foreign* x, const XSelectionEvent* e)
{
  unsigned char* data  = NULL;
  unsigned long  n     = 0;
  unsigned long  after = 0;
  int            format;
  x->is_answered = true;
  x->is_refused  = e->property == None;
  if (x->is_refused) {
    return;
  }
  XGetWindowProperty(x->display, x->window, x->here, 0, 16384, True,
                     AnyPropertyType, &x->type, &format, &n, &after, &data);
  x->n_got = n * (format == 32 ? sizeof(long) : (size_t)format / 8);
  assert_true(x->n_got < sizeof(x->got));
  memcpy(x->got, data, x->n_got);
  x->got[x->n_got] = '\0';
  XFree(data);
}

static inline void
foreign_serve(foreign* x)
{
  XSync(x->display, False);
  while (XPending(x->display)) {
    XEvent e;
    XNextEvent(x->display, &e);
    if (e.type == SelectionRequest && !x->is_silent) {
      foreign_answer(x, &e.xselectionrequest);
    } else if (e.type == SelectionNotify) {
      foreign_take(x, &e.xselection);
    } else if (e.type == PropertyNotify && x->to &&
               e.xproperty.window == x->to && e.xproperty.atom == x->property &&
               e.xproperty.state == PropertyDelete) {
      foreign_send_piece(x);
    }
  }
  XSync(x->display, False);
}

static inline void
foreign_close(foreign* x)
{
  XCloseDisplay(x->display);
}

#endif // TESTS_WINDOW_FOREIGN_H
