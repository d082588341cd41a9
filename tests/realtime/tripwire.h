// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stands in for the functions of the C library that allocate, lock, wait and
/// use files.  Passes each call on, but aborts the process with the name of the
/// function if an armed thread calls it.  Link it before the C library.

#ifndef TESTS_REALTIME_TRIPWIRE_H
#define TESTS_REALTIME_TRIPWIRE_H

#include <stdbool.h>

/// Forbids (or allows again) such calls on this thread
void
tripwire_arm(bool is_armed);

#endif // TESTS_REALTIME_TRIPWIRE_H
