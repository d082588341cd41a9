// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "printable.h"

#include "alloc.h"
#include "plugins/text/utf8.h"

#include <locale.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#define MAX_CELL_WIDTH 48U

char*
printable_new(const char* text)
{
  const size_t room  = PRINTABLE_SHOWN_LENGTH * strlen(text) + 1;
  char* const  shown = alloc_new(room, 1);
  printable_copy(shown, room, text);
  return shown;
}

void
printable_print(FILE* file, const char* format, ...)
{
  va_list args;
  va_start(args, format);
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): it is, one line up
  const int length = vsnprintf(NULL, 0, format, args);
  va_end(args);
  char* const text = alloc_new((size_t)length + 1, 1);
  va_start(args, format);
  (void)vsnprintf(text, (size_t)length + 1, format, args);
  va_end(args);

  const bool has_break = length && text[length - 1] == '\n';
  if (has_break) {
    text[length - 1] = '\0';
  }
  char* const shown = printable_new(text);
  (void)fputs(shown, file);
  if (has_break) {
    (void)fputc('\n', file);
  }
  free(shown);
  free(text);
}

/// Bytes of `text` that fit into `columns`, and the columns that they take
static size_t
fit(const char* text, uint32_t columns, uint32_t* used)
{
  // Widths of characters are part of a locale
  const locale_t unicode = newlocale(LC_CTYPE_MASK, "C.UTF-8", (locale_t)0);
  const locale_t before  = unicode ? uselocale(unicode) : (locale_t)0;
  size_t         bytes   = 0;
  *used                  = 0;
  while (text[bytes]) {
    const size_t length = utf8_length(text + bytes);
    const int    width =
      length ? wcwidth((wchar_t)utf8_code(text + bytes, length)) : 1;
    const uint32_t more = width < 0 ? 1 : (uint32_t)width;
    if (more > columns - *used) {
      break;
    }
    *used += more;
    bytes += length ? length : 1;
  }
  if (unicode) {
    (void)uselocale(before);
    freelocale(unicode);
  }
  return bytes;
}

size_t
printable_fit(const char* text, uint32_t columns)
{
  uint32_t used = 0;
  return fit(text, columns, &used);
}

uint32_t
printable_columns(const char* text)
{
  uint32_t used = 0;
  (void)fit(text, UINT32_MAX, &used);
  return used;
}

uint32_t
printable_widen(uint32_t width, const char* text)
{
  char* const    shown   = printable_new(text);
  const uint32_t columns = printable_columns(shown);
  const uint32_t wanted  = columns < MAX_CELL_WIDTH ? columns : MAX_CELL_WIDTH;
  free(shown);
  return wanted > width ? wanted : width;
}

void
printable_cell(FILE* file, const char* text, uint32_t width)
{
  char* const    shown   = printable_new(text);
  const uint32_t columns = printable_columns(shown);
  (void)fprintf(file, "%s%*s", shown,
                columns < width ? (int)(width - columns) : 0, "");
  free(shown);
}
