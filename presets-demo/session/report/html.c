// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "html.h"

#include "page.h"

#include "plugins/text/utf8.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

// Places in the template
#define PAGE_REPORT "{{report}}"
#define PAGE_SOUND  "{{sound}}"

/// Prints a text up to a marker in it; returns what follows the marker
static const char*
print_until(FILE* f, const char* text, const char* marker)
{
  const char* const end = strstr(text, marker);
  assert(end);
  (void)fwrite(text, 1, (size_t)(end - text), f);
  return end + strlen(marker);
}

void
html_begin(FILE* f, const char* title)
{
  const char* rest = print_until(f, page_html, "{{title}}");
  html_text(f, title);
  rest = print_until(f, rest, "{{style}}");
  (void)fputs(page_css, f);
  (void)print_until(f, rest, PAGE_REPORT);
}

void
html_before_sound(FILE* f)
{
  const char* const rest = strstr(page_html, PAGE_REPORT) + strlen(PAGE_REPORT);
  (void)print_until(f, rest, PAGE_SOUND);
}

void
html_end(FILE* f)
{
  (void)fputs(strstr(page_html, PAGE_SOUND) + strlen(PAGE_SOUND), f);
}

/// U+FFFD replaces bytes that are no UTF-8, and controls, which HTML does not
/// allow (HTML Living Standard, 13.2.3.5)
void
html_text(FILE* f, const char* text)
{
  while (*text) {
    const size_t   n    = utf8_length(text);
    const uint32_t code = n ? utf8_code(text, n) : 0;
    if (code < 0x20 || (code >= 0x7F && code < 0xA0)) {
      (void)fputs("\xEF\xBF\xBD", f);
    } else if (code < 0x80 && strchr("&<>\"'", (int)code)) {
      (void)fprintf(f, "&#%u;", code);
    } else {
      (void)fwrite(text, 1, n, f);
    }
    text += n ? n : 1;
  }
}

void
html_name(FILE* f, const char* name)
{
  (void)fputs("<bdi>", f);
  html_text(f, name);
  (void)fputs("</bdi>", f);
}

/// Prints a figure with a true minus sign, and no sign before a zero
static void
print_figure(FILE* f, double x, int decimals, const char* sign)
{
  if (isnan(x)) {
    (void)fputs("–", f);
  } else if (isinf(x)) {
    (void)fputs("silent", f);
  } else {
    const bool is_zero = fabs(x) < 0.5 * pow(10.0, -decimals);
    (void)fprintf(f, "%s%.*f",
                  is_zero   ? ""
                  : x < 0.0 ? "−"
                            : sign,
                  decimals, is_zero ? 0.0 : fabs(x));
  }
}

static void
print_cell(FILE* f, double x, int decimals, const char* unit, const char* sign)
{
  (void)fputs("<td>", f);
  print_figure(f, x, decimals, sign);
  (void)fprintf(f, "%s%s</td>", isfinite(x) && *unit ? " " : "",
                isfinite(x) ? unit : "");
}

void
html_figure(FILE* f, double x, int decimals, const char* unit)
{
  print_cell(f, x, decimals, unit, "");
}

void
html_change(FILE* f, double x, int decimals, const char* unit)
{
  print_cell(f, x, decimals, unit, "+");
}

void
html_tile(FILE* f, const char* name, double x, int decimals, const char* unit)
{
  (void)fprintf(f, "<div class=\"tile\"><span>%s</span><b>", name);
  print_figure(f, x, decimals, "");
  (void)fprintf(f, "</b> <i>%s</i></div>\n", unit);
}

void
html_headings(FILE* f, const char* const* texts)
{
  (void)fputs("<tr>", f);
  for (; *texts; ++texts) {
    (void)fprintf(f, "<th scope=\"col\">%s</th>", *texts);
  }
  (void)fputs("</tr>\n", f);
}

void
html_begin_scroll(FILE* f, const char* name)
{
  (void)fputs(
    "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"", f);
  html_text(f, name);
  (void)fputs("\">\n", f);
}
