// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_close WINDOW: asks a window to close, as a window manager does when its
/// button is pressed.  xdotool can only destroy it.

#include <X11/Xlib.h>

#include <stdio.h>
#include <stdlib.h>

int
main(int argc, char** argv)
{
  char*          end     = NULL;
  const Window   window  = argc == 2 ? strtoul(argv[1], &end, 0) : 0;
  Display* const display = XOpenDisplay(NULL);
  if (!window || *end || !display) {
    fprintf(stderr, "usage: host_close WINDOW; a display is needed\n");
    return 2;
  }
  XEvent e            = {.xclient = {
                           .type         = ClientMessage,
                           .window       = window,
                           .message_type = XInternAtom(display, "WM_PROTOCOLS", False),
                           .format       = 32,
              }};
  e.xclient.data.l[0] = (long)XInternAtom(display, "WM_DELETE_WINDOW", False);
  const Status sent   = XSendEvent(display, window, False, NoEventMask, &e);
  XCloseDisplay(display);
  return sent ? 0 : 1;
}
