// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the benchmark found, as tables to read or as JSON: sections of rows of
/// keyed values.  One report at a time, on standard output.

#ifndef TESTS_BENCH_REPORT_H
#define TESTS_BENCH_REPORT_H

#include <stdbool.h>

void
report_open(bool as_json);

void
report_close(void);

/// A table: `key` names it in JSON, `title` heads it as text
void
report_section(const char* key, const char* title);

/// Values of the row to come, in order.  A number that is NaN is none.
void
report_text(const char* key, const char* text);

void
report_number(const char* key, int decimals, double x);

void
report_end_row(void);

#endif // TESTS_BENCH_REPORT_H
