// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The windows in Turtle.  For the build only: never runs in a host.

#ifndef TTL_WINDOW_H
#define TTL_WINDOW_H

#include "ttl/writer/turtle_writer.h"

#define WINDOW_URI "urn:dustcap:window"

/// Writes what goes into the manifest where the windows are built: which window
/// belongs to which plugin, and where they are
void
window_write_entries(turtle_writer* w);

/// Writes what hosts must know before they open a window
void
window_write(turtle_writer* w);

#endif // TTL_WINDOW_H
