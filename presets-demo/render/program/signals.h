// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stops a program without leaving half a file, on any signal that would end
/// it, unless it is ignored from the start; faults and SIGKILL aside.  Call
/// either signals_catch() or signals_hold(), once, before anything is written.
/// After either, a file at its size limit and a pipe that nobody reads are
/// write errors and do not end the program.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H
#define PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H

#include <signal.h>

/// Number of the signal that asked to stop, or 0.  Global, as a signal handler
/// has no other access.
extern volatile sig_atomic_t signals_caught;

/// Catches the signals, for long work that checks signals_caught as it goes
void
signals_catch(void);

/// Ends the program by the signal that asked to stop, as its sender expects;
/// returns if there was none
void
signals_die(void);

/// Blocks the signals, for work of milliseconds: stopping waits for its end
void
signals_hold(void);

#endif // PRESETS_DEMO_RENDER_PROGRAM_SIGNALS_H
