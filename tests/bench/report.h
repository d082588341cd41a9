// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The report of the benchmark, as tables or as JSON: sections of rows of keyed
/// values.  One report at a time, on standard output.

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

/// Adds values to the present row, in order.  A NaN is printed as no number.
void
report_text(const char* key, const char* text);

void
report_number(const char* key, int decimals, double x);

void
report_end_row(void);

#endif // TESTS_BENCH_REPORT_H
