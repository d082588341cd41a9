// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Numbers with a point, whatever the locale of the host, for this thread

#ifndef PLUGINS_SETUP_PLAIN_NUMBERS_H
#define PLUGINS_SETUP_PLAIN_NUMBERS_H

#include <locale.h>

typedef struct {
  locale_t plain, before;
} plain_numbers;

/// From here on to plain_numbers_end(); may be nested
plain_numbers
plain_numbers_begin(void);

void
plain_numbers_end(plain_numbers n);

#endif // PLUGINS_SETUP_PLAIN_NUMBERS_H
