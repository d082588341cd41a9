// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How a program is stopped from outside without leaving half a file behind:
/// by SIGHUP, SIGINT or SIGTERM.  One of stop_catch() and stop_hold(), once,
/// before anything is written.  With either a file at its size limit is a write
/// error, not the end of the program.

#ifndef PRESETS_DEMO_STOP_H
#define PRESETS_DEMO_STOP_H

#include <signal.h>

/// Number of the signal that asked to stop, or 0.  A handler can reach nothing
/// else.
extern volatile sig_atomic_t stop_signal;

/// For long work, which looks at stop_signal as it goes
void
stop_catch(void);

/// Die of the signal that asked to stop, as whoever sent it expects; returns if
/// there was none
void
stop_now(void);

/// For work of milliseconds: who wants it to stop waits for its end
void
stop_hold(void);

#endif // PRESETS_DEMO_STOP_H
