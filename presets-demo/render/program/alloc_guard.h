// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// malloc(), calloc(), realloc() and free() of a program, before the system's.
///
/// lilv, serd, sord, libsoxr and libebur128 do not check what they get: out of
/// memory they crash, or go on without a port or a value, and the program ends
/// with 0 and a different sound.  With this they never get NULL: the program
/// ends with a line instead, as when it allocates itself (alloc.h).  Each
/// program links it besides the library; there is nothing to call.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_ALLOC_GUARD_H
#define PRESETS_DEMO_RENDER_PROGRAM_ALLOC_GUARD_H

#include <stdlib.h> // Defines __GLIBC__

#ifdef __has_feature // Clang
#  if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) || \
    __has_feature(memory_sanitizer)
#    define HAVE_ALLOC_GUARD 0
#  endif
#endif

// Only with glibc may a program define these four alone (its manual, "Replacing
// malloc"); a sanitizer has its own
#ifndef HAVE_ALLOC_GUARD
#  if defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#    define HAVE_ALLOC_GUARD 1
#  else
#    define HAVE_ALLOC_GUARD 0
#  endif
#endif

#endif // PRESETS_DEMO_RENDER_PROGRAM_ALLOC_GUARD_H
