// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "platform.h"

#include <X11/Xlib.h>
#include <X11/Xutil.h>
#include <X11/keysym.h>

#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MENU_BUTTON = 3, WHEEL_UP = 4, WHEEL_DOWN = 5 };

struct platform {
  Display*        display;
  Window          window, parent;
  GC              gc;
  Visual*         visual;
  int             depth;
  Atom            saying; ///< Type of what windows say to each other
  platform_client client;
  Time            event_time; ///< Of the last press or key
  bool            is_mapped, is_hidden, is_gone;
  bool            has_sent; ///< Since events were last taken
};

double
platform_now_s(void)
{
  struct timespec t;
  (void)clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// Hosts read the size from these hints
static void
set_hints(platform* p, int width, int height)
{
  XSizeHints* const hints = XAllocSizeHints();
  if (hints) {
    hints->flags       = PMinSize | PBaseSize;
    hints->min_width   = 200;
    hints->min_height  = 100;
    hints->base_width  = width;
    hints->base_height = height;
    XSetWMNormalHints(p->display, p->window, hints);
    XFree(hints);
  }
}

static void
make_window(platform* p, int width, int height, const char* title)
{
  const int            screen = DefaultScreen(p->display);
  XSetWindowAttributes a      = {
         .background_pixmap = None, // No flash before the first picture
         .bit_gravity       = NorthWestGravity,
         .event_mask = ExposureMask | StructureNotifyMask | VisibilityChangeMask |
                       ButtonPressMask | ButtonReleaseMask | PointerMotionMask |
                       KeyPressMask | FocusChangeMask | EnterWindowMask |
                       LeaveWindowMask,
  };
  p->window = XCreateWindow(
    p->display, p->parent ? p->parent : RootWindow(p->display, screen), 0, 0,
    (unsigned)width, (unsigned)height, 0, CopyFromParent, InputOutput,
    CopyFromParent, CWBackPixmap | CWBitGravity | CWEventMask, &a);
  set_hints(p, width, height);
  XStoreName(p->display, p->window, title);
  if (!p->parent) {
    Atom wm_delete = XInternAtom(p->display, "WM_DELETE_WINDOW", False);
    XSetWMProtocols(p->display, p->window, &wm_delete, 1);
  }
  p->gc = XCreateGC(p->display, p->window, 0, NULL);

  XWindowAttributes got;
  if (XGetWindowAttributes(p->display, p->window, &got)) {
    p->visual = got.visual;
    p->depth  = got.depth;
  }
  XMapRaised(p->display, p->window);
  XSync(p->display, False);
}

static void
send_now(platform* p)
{
  XFlush(p->display);
  p->has_sent = true;
}

/// What is sent to the root window reaches whoever has asked for its structure
static void
listen(platform* p)
{
  p->saying = XInternAtom(p->display, "_DUSTCAP_WINDOWS", False);
  XSelectInput(p->display, DefaultRootWindow(p->display), StructureNotifyMask);
}

void
platform_say(platform* p, const window_message* m)
{
  const Window root = DefaultRootWindow(p->display);
  XEvent       e    = {.xclient = {.type         = ClientMessage,
                                   .window       = root,
                                   .message_type = p->saying,
                                   .format       = 32}};
  for (int i = 0; i < 5; ++i) {
    e.xclient.data.l[i] = (long)m->word[i];
  }
  if (!p->is_gone) {
    XSendEvent(p->display, root, False, StructureNotifyMask, &e);
    send_now(p);
  }
}

static void
on_said(platform* p, const XClientMessageEvent* e)
{
  window_message m;
  if (e->message_type != p->saying || e->format != 32) {
    return;
  }
  for (int i = 0; i < 5; ++i) {
    m.word[i] = (uint32_t)e->data.l[i];
  }
  p->client.message(p->client.handle, &m);
}

platform*
platform_open(uintptr_t              parent,
              int                    width,
              int                    height,
              const char*            title,
              const platform_client* client)
{
  platform* const p = calloc(1, sizeof(*p));
  if (!p) {
    return NULL;
  }
  p->client  = *client;
  p->parent  = (Window)parent;
  p->display = XOpenDisplay(NULL);
  if (!p->display) {
    free(p);
    return NULL;
  }
  make_window(p, width, height, title);
  listen(p);
  p->has_sent = true;
  if (!p->visual) {
    platform_close(p);
    return NULL;
  }
  return p;
}

void
platform_close(platform* p)
{
  XFreeGC(p->display, p->gc); // Its memory here would stay
  // The server takes the window with the connection.  A host that destroyed the
  // parent first would make XDestroyWindow() an error, which ends some hosts.
  XCloseDisplay(p->display);
  free(p);
}

uintptr_t
platform_window(const platform* p)
{
  return (uintptr_t)p->window;
}

uint32_t
platform_event_time(const platform* p)
{
  return (uint32_t)p->event_time;
}

bool
platform_is_visible(const platform* p)
{
  return p->is_mapped && !p->is_hidden && !p->is_gone;
}

void
platform_resize(platform* p, int width, int height)
{
  set_hints(p, width, height);
  XResizeWindow(p->display, p->window, (unsigned)width, (unsigned)height);
  send_now(p);
}

// ---------------------------------------------------------------------------
// Events

static event_key
key_of(KeySym sym)
{
  static const struct {
    KeySym    sym;
    event_key key;
  } keys[] = {
    {XK_Tab, KEY_TAB},
    {XK_ISO_Left_Tab, KEY_BACK_TAB},
    {XK_Left, KEY_LEFT},
    {XK_KP_Left, KEY_LEFT},
    {XK_Right, KEY_RIGHT},
    {XK_KP_Right, KEY_RIGHT},
    {XK_Up, KEY_UP},
    {XK_KP_Up, KEY_UP},
    {XK_Down, KEY_DOWN},
    {XK_KP_Down, KEY_DOWN},
    {XK_Page_Up, KEY_PAGE_UP},
    {XK_KP_Page_Up, KEY_PAGE_UP},
    {XK_Page_Down, KEY_PAGE_DOWN},
    {XK_KP_Page_Down, KEY_PAGE_DOWN},
    {XK_Home, KEY_HOME},
    {XK_KP_Home, KEY_HOME},
    {XK_End, KEY_END},
    {XK_KP_End, KEY_END},
    {XK_Return, KEY_ENTER},
    {XK_KP_Enter, KEY_ENTER},
    {XK_Escape, KEY_ESCAPE},
    {XK_Delete, KEY_DELETE},
    {XK_KP_Delete, KEY_DELETE},
    {XK_BackSpace, KEY_BACKSPACE},
    {XK_Menu, KEY_MENU},
  };
  for (size_t i = 0; i < sizeof(keys) / sizeof(keys[0]); ++i) {
    if (keys[i].sym == sym) {
      return keys[i].key;
    }
  }
  return KEY_OTHER;
}

/// A key that is not ours belongs to the host (its space bar, its shortcuts).
/// One that the host has sent itself would come back again and again.
static void
hand_back(platform* p, XKeyEvent key)
{
  if (key.send_event || !p->parent) {
    return;
  }
  key.window = p->parent;
  XSendEvent(p->display, p->parent, True, KeyPressMask, (XEvent*)&key);
}

static void
on_key(platform* p, XKeyEvent* e, window_event* to)
{
  char      text[8] = "";
  KeySym    sym     = NoSymbol;
  const int n       = XLookupString(e, text, sizeof(text), &sym, NULL);
  to->kind          = EVENT_KEY;
  to->key           = key_of(sym);
  if (to->key == KEY_TAB && to->shift) {
    to->key = KEY_BACK_TAB;
  }
  if (sym == XK_F10 && to->shift) {
    to->key = KEY_MENU;
  }
  if (to->key == KEY_OTHER && to->ctrl && sym >= XK_a && sym <= XK_z) {
    to->key  = KEY_TEXT;
    to->text = (char)('a' + (int)(sym - XK_a));
  } else if (to->key == KEY_OTHER && to->ctrl && sym >= XK_A && sym <= XK_Z) {
    to->key  = KEY_TEXT;
    to->text = (char)('a' + (int)(sym - XK_A));
  } else if (to->key == KEY_OTHER && n == 1 && text[0] >= ' ' &&
             text[0] < 127) {
    to->key  = KEY_TEXT;
    to->text = text[0];
  }
  const bool is_alt = (e->state & Mod1Mask) != 0;
  if (is_alt || !p->client.event(p->client.handle, to)) {
    hand_back(p, *e);
  }
}

static void
on_button(platform* p, const XButtonEvent* e, window_event* to)
{
  const bool is_press = e->type == ButtonPress;
  if (e->button == Button1 || (e->button == MENU_BUTTON && is_press)) {
    to->kind = !is_press              ? EVENT_RELEASE
               : e->button == Button1 ? EVENT_PRESS
                                      : EVENT_MENU;
    if (is_press) { // Only now: at opening it would steal the host's keys
      XSetInputFocus(p->display, p->window, RevertToParent, e->time);
    }
  } else if (is_press && (e->button == WHEEL_UP || e->button == WHEEL_DOWN)) {
    to->kind  = EVENT_WHEEL;
    to->wheel = e->button == WHEEL_UP ? 1 : -1;
  } else {
    return;
  }
  (void)p->client.event(p->client.handle, to);
}

/// Only the last of a row of movements counts
static void
last_motion(platform* p, XEvent* e)
{
  XEvent next;
  while (XPending(p->display)) {
    XPeekEvent(p->display, &next);
    if (next.type != MotionNotify) {
      return;
    }
    XNextEvent(p->display, e);
  }
}

static window_event
event_at(int x, int y, unsigned state)
{
  return (window_event){.x      = x,
                        .y      = y,
                        .time_s = platform_now_s(),
                        .shift  = (state & ShiftMask) != 0,
                        .ctrl   = (state & ControlMask) != 0};
}

/// Whether keys go elsewhere: not a grab for a moment, nor the pointer's share
/// of a focus that follows it
static bool
is_real_loss(const XFocusChangeEvent* e)
{
  return e->mode != NotifyGrab && e->mode != NotifyUngrab &&
         e->detail != NotifyPointer && e->detail != NotifyInferior;
}

/// Events of the pointer and of keys
static void
on_input(platform* p, XEvent* e)
{
  window_event to = {.time_s = platform_now_s()};
  switch (e->type) {
    case ButtonPress:
    case ButtonRelease:
      p->event_time = e->xbutton.time;
      to            = event_at(e->xbutton.x, e->xbutton.y, e->xbutton.state);
      on_button(p, &e->xbutton, &to);
      break;
    case MotionNotify:
      last_motion(p, e);
      to      = event_at(e->xmotion.x, e->xmotion.y, e->xmotion.state);
      to.kind = EVENT_MOVE;
      (void)p->client.event(p->client.handle, &to);
      break;
    case LeaveNotify:
      to.kind = EVENT_LEAVE;
      (void)p->client.event(p->client.handle, &to);
      break;
    case FocusOut:
      if (is_real_loss(&e->xfocus)) {
        to.kind = EVENT_UNFOCUSED;
        (void)p->client.event(p->client.handle, &to);
      }
      break;
    case KeyPress:
      p->event_time = e->xkey.time;
      to            = event_at(e->xkey.x, e->xkey.y, e->xkey.state);
      on_key(p, &e->xkey, &to);
      break;
    default:
      break;
  }
}

static void
on_event(platform* p, XEvent* e)
{
  switch (e->type) {
    case Expose:
      if (e->xexpose.count == 0) {
        p->client.expose(p->client.handle);
      }
      break;
    case MapNotify:
      p->is_mapped = true;
      break;
    case UnmapNotify:
      p->is_mapped = false;
      break;
    case VisibilityNotify:
      p->is_hidden = e->xvisibility.state == VisibilityFullyObscured;
      break;
    case ConfigureNotify:
      p->client.size(p->client.handle, e->xconfigure.width,
                     e->xconfigure.height);
      break;
    case DestroyNotify:
      p->is_gone = true;
      break;
    case ClientMessage:
      p->is_gone = !p->parent;
      break;
    default:
      on_input(p, e);
      break;
  }
}

/// Whether there may be events.  XPending() asks the system twice, which is
/// most of what a window costs at rest.  Sending may have read some, too.
static bool
may_have_events(platform* p)
{
  struct pollfd from = {.fd = ConnectionNumber(p->display), .events = POLLIN};
  const bool    has_sent = p->has_sent;
  p->has_sent            = false;
  return has_sent || XEventsQueued(p->display, QueuedAlready) > 0 ||
         poll(&from, 1, 0) != 0;
}

bool
platform_events(platform* p)
{
  if (!p->is_gone && !may_have_events(p)) {
    return true;
  }
  while (!p->is_gone && XPending(p->display)) {
    XEvent e;
    XNextEvent(p->display, &e);
    if (e.xany.window == p->window) {
      on_event(p, &e);
    } else if (e.type == ClientMessage) {
      on_said(p, &e.xclient);
    }
  }
  return !p->is_gone;
}

void
platform_put(platform*              p,
             const platform_pixels* pixels,
             const platform_box*    boxes,
             uint32_t               n)
{
  if (p->is_gone || !n) {
    return;
  }
  XImage* const image = XCreateImage(
    p->display, p->visual, (unsigned)p->depth, ZPixmap, 0, (char*)pixels->data,
    (unsigned)pixels->width, (unsigned)pixels->height, 32, pixels->stride);
  if (!image) {
    return;
  }
  for (uint32_t i = 0; i < n; ++i) {
    const platform_box b = boxes[i];
    XPutImage(p->display, p->window, p->gc, image, b.x, b.y, b.x, b.y,
              (unsigned)b.w, (unsigned)b.h);
  }
  image->data = NULL; // The pixels are not its own
  XDestroyImage(image);
  send_now(p);
}
