// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plain_numbers.h"
#include "setup_value.h"

#include <float.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Writes a number in the fewest digits that give the same float again
static void
write_number(float value, char text[SETUP_VALUE_TEXT])
{
  const plain_numbers n = plain_numbers_begin();
  for (int digits = 6; digits <= FLT_DECIMAL_DIG; ++digits) {
    (void)snprintf(text, SETUP_VALUE_TEXT, "%.*g", digits, (double)value);
    if ((float)strtod(text, NULL) == value) {
      break;
    }
  }
  plain_numbers_end(n);
}

/// Tries whether `base` and a number in so many digits give the value
static bool
gives(float  value,
      double base,
      char   operation,
      double x,
      int    digits,
      char*  text)
{
  (void)snprintf(text, SETUP_VALUE_TEXT, "base %c %.*g", operation, digits, x);
  const double number = strtod(text + strlen("base * "), NULL);
  const double result = operation == '*'   ? base * number
                        : operation == '-' ? base - number
                                           : base + number;
  return (float)result == value;
}

void
setup_value_write_relative(const control_input* c,
                           float                value,
                           float                base,
                           const char*          like,
                           char                 text[SETUP_VALUE_TEXT])
{
  const double from      = (double)base;
  const double more      = (double)value - from;
  const bool   is_factor = base != 0.0F && like[strcspn(like, "+-*/")] &&
                         strchr("*/", like[strcspn(like, "+-*/")]);
  if (value == base) {
    (void)snprintf(text, SETUP_VALUE_TEXT, "base");
    return;
  }
  if (c->kind == CONTROL_NUMBER) {
    const char   operation = is_factor ? '*' : more < 0 ? '-' : '+';
    const double x = is_factor ? (double)value / from : more < 0 ? -more : more;
    const plain_numbers n       = plain_numbers_begin();
    bool                is_done = false;
    for (int digits = 6; digits <= DBL_DECIMAL_DIG && !is_done; ++digits) {
      is_done = gives(value, from, operation, x, digits, text);
    }
    plain_numbers_end(n);
    if (is_done) {
      return;
    }
  }
  setup_value_write(c, value, text);
}

void
setup_value_write(const control_input* c,
                  float                value,
                  char                 text[SETUP_VALUE_TEXT])
{
  if (c->kind == CONTROL_TOGGLE) {
    (void)snprintf(text, SETUP_VALUE_TEXT, "%s", value > 0.0F ? "on" : "off");
    return;
  }
  for (uint32_t i = 0; i < c->n_choices; ++i) {
    if (c->choices[i].value == value) {
      (void)snprintf(text, SETUP_VALUE_TEXT, "%s", c->choices[i].label);
      return;
    }
  }
  write_number(value, text);
}
