// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stands in for what the C library offers to allocate, lock, wait, and use
/// files: passes each call on, but aborts the process with the name of the call
/// if it comes from a thread that is armed.  Link it before the C library.

#ifndef TESTS_REALTIME_TRIPWIRE_H
#define TESTS_REALTIME_TRIPWIRE_H

#include <stdbool.h>

/// For this thread: from now on no such call may come
void
tripwire_arm(bool is_armed);

#endif // TESTS_REALTIME_TRIPWIRE_H
