// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Heap memory for programs.  Each function allocates, or ends the program with
/// a line, from any thread: with 1, incomplete output removed (whole_exit.h),
/// or with 0 if all output is complete.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H
#define PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H

#include <stddef.h>

/// Returns `memory` from another allocator; exits if it is NULL
void*
alloc_check(void* memory);

/// Returns zeroed memory for `n` elements; never NULL
void*
alloc_new(size_t n, size_t size);

/// Resizes as realloc() does, to `n` elements; never returns NULL
void*
alloc_grow(void* old, size_t n, size_t size);

/// Returns a copy; never NULL
char*
alloc_copy(const char* text);

/// Prints as printf() does, into new memory; never returns NULL
__attribute__((format(printf, 1, 2))) char*
alloc_print(const char* format, ...);

#endif // PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H
