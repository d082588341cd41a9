// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_time.h"

#define MAX_DIGITS 5 ///< More than a day, and exact in a float to 10 ms

/// Reads digits; returns how many, 0 if there are none or too many
static int
read_digits(const char** at, double* value)
{
  int n  = 0;
  *value = 0.0;
  for (; **at >= '0' && **at <= '9'; ++*at, ++n) {
    *value = 10.0 * *value + (**at - '0');
  }
  return n <= MAX_DIGITS ? n : 0;
}

bool
session_time_read(const char* text, float* s)
{
  double minutes  = 0.0;
  double seconds  = 0.0;
  double fraction = 0.0;
  int    n        = read_digits(&text, &seconds);
  if (!n) {
    return false;
  }
  if (*text == ':') {
    ++text;
    minutes = seconds;
    n       = read_digits(&text, &seconds);
    if (n != 2 || seconds >= 60.0) {
      return false;
    }
  }
  if (*text == '.') {
    ++text;
    n = read_digits(&text, &fraction);
    for (int i = 0; i < n; ++i) {
      fraction /= 10.0;
    }
  }
  if (!n || *text) {
    return false;
  }
  *s = (float)(60.0 * minutes + seconds + fraction);
  return true;
}
