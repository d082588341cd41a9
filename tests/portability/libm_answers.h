// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What libm answered on one machine, for another.
///
/// C leaves open how exactly exp(), sin() and the like are to be, so machines
/// may differ there.  One player notes each question and its answer; the other
/// takes them from the notes instead of asking its own libm.  What then still
/// differs comes from elsewhere.

#ifndef TESTS_PORTABILITY_LIBM_ANSWERS_H
#define TESTS_PORTABILITY_LIBM_ANSWERS_H

#include <stdbool.h>
#include <stdint.h>

/// Note all answers from now on
void
libm_answers_note(void);

/// Into a file; false if it cannot be written
bool
libm_answers_write(const char* path);

/// Take answers from the file that another player wrote; false if it cannot be
/// read
bool
libm_answers_take(const char* path);

/// Move answers by an ulp from now on, up, down or not at all
void
libm_answers_shake(void);

/// Questions so far that were not in the file
uint32_t
libm_answers_missing(void);

#endif // TESTS_PORTABILITY_LIBM_ANSWERS_H
