// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How a program is stopped from outside without leaving half a file behind:
/// by SIGHUP, SIGINT or SIGTERM.  One of signals_catch() and signals_hold(),
/// once, before anything is written.  With either a file at its size limit is a
/// write error, not the end of the program.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H
#define PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H

#include <signal.h>

/// Number of the signal that asked to stop, or 0.  A handler can reach nothing
/// else.
extern volatile sig_atomic_t signals_caught;

/// For long work, which looks at signals_caught as it goes
void
signals_catch(void);

/// Die of the signal that asked to stop, as whoever sent it expects; returns if
/// there was none
void
signals_die(void);

/// For work of milliseconds: who wants it to stop waits for its end
void
signals_hold(void);

#endif // PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H
