// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "json.h"

#include "plugins/text/utf8.h"

#include <math.h>
#include <string.h>

static void
print_text(FILE* f, const char* text)
{
  (void)fputc('"', f);
  while (*text) {
    const size_t n = utf8_length(text);
    if (!n) {
      (void)fputs("\\ufffd", f);
    } else if (*text == '"' || *text == '\\') {
      (void)fprintf(f, "\\%c", *text);
    } else if (n == 1 && (unsigned char)*text < 0x20) {
      (void)fprintf(f, "\\u%04x", (unsigned)*text);
    } else {
      (void)fwrite(text, 1, n, f);
    }
    text += n ? n : 1;
  }
  (void)fputc('"', f);
}

static void
print_number(FILE* f, double x)
{
  if (isfinite(x)) {
    (void)fprintf(f, "%.6g", x);
  } else {
    (void)fputs("null", f);
  }
}

/// Prints what stands before a value
static void
begin(json* j, const char* key)
{
  if (j->depth) {
    (void)fprintf(j->file, "%s\n%*s", j->is_first ? "" : ",",
                  (int)(2 * j->depth), "");
  }
  j->is_first = false;
  if (key) {
    print_text(j->file, key);
    (void)fputs(": ", j->file);
  }
}

void
json_open(json* j, const char* key, char bracket)
{
  begin(j, key);
  (void)fputc(bracket, j->file);
  ++j->depth;
  j->is_first = true;
}

void
json_close(json* j, char bracket)
{
  --j->depth;
  if (!j->is_first) {
    (void)fprintf(j->file, "\n%*s", (int)(2 * j->depth), "");
  }
  (void)fputc(bracket, j->file);
  j->is_first = false;
  if (!j->depth) {
    (void)fputc('\n', j->file);
  }
}

void
json_number(json* j, const char* key, double x)
{
  begin(j, key);
  print_number(j->file, x);
}

void
json_text(json* j, const char* key, const char* text)
{
  begin(j, key);
  if (text) {
    print_text(j->file, text);
  } else {
    (void)fputs("null", j->file);
  }
}

void
json_numbers(json* j, const char* key, const double* x, uint32_t n)
{
  begin(j, key);
  (void)fputc('[', j->file);
  for (uint32_t i = 0; i < n; ++i) {
    (void)fputs(i ? ", " : "", j->file);
    print_number(j->file, x[i]);
  }
  (void)fputc(']', j->file);
}
