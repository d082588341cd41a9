// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Heap memory for programs.  What cannot be allocated ends the program.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H
#define PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H

#include <stddef.h>

/// What another function has allocated; never NULL
void*
alloc_check(void* memory);

/// Zeroed memory for `n` elements; never NULL
void*
alloc_new(size_t n, size_t size);

/// As realloc() for `n` elements; never NULL
void*
alloc_grow(void* old, size_t n, size_t size);

/// A copy; never NULL
char*
alloc_copy(const char* text);

/// printf() into new memory; never NULL
__attribute__((format(printf, 1, 2))) char*
alloc_print(const char* format, ...);

#endif // PRESETS_DEMO_RENDER_PROGRAM_ALLOC_H
