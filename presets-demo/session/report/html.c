// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "html.h"

#include <math.h>
#include <stdbool.h>

static const char style[] =
  ":root{color-scheme:light}"
  "*{box-sizing:border-box}"
  "body{margin:0 auto;max-width:72rem;padding:1.5rem 1.25rem 4rem;"
  "background:#fbfaf7;color:#262623;font:16px/1.5 system-ui,sans-serif;"
  "font-variant-numeric:tabular-nums}"
  "h1{font-size:1.6rem;line-height:1.2;margin:0 0 .25rem}"
  "h2{font-size:1.2rem;margin:2.75rem 0 .5rem;padding-top:.9rem;"
  "border-top:1px solid #dcdad3}"
  "h2 small{font-weight:400;font-size:.9rem;color:#66655f;margin-left:.5rem}"
  "h3{font-size:1rem;margin:1.5rem 0 .25rem}"
  "p{margin:.3rem 0;max-width:46rem}"
  ".quiet{color:#66655f;font-size:.9rem}"
  ".tiles{display:grid;grid-template-columns:repeat(auto-fill,minmax(8.5rem,"
  "1fr));gap:.6rem;margin:1rem 0}"
  ".tile{background:#fff;border:1px solid #e4e3de;border-radius:6px;"
  "padding:.55rem .75rem}"
  ".tile span{display:block;color:#66655f;font-size:.8rem}"
  ".tile b{font-size:1.15rem;font-weight:600;white-space:nowrap}"
  ".tile i{font-style:normal;font-size:.8rem;color:#66655f}"
  // A shadow where there is more to scroll to, covered at the end
  ".scroll,.time{overflow-x:auto;background:"
  "linear-gradient(90deg,#fff 30%,#fff0) 0/2.5rem 100% no-repeat local,"
  "linear-gradient(270deg,#fff 30%,#fff0) 100%/2.5rem 100% no-repeat local,"
  "linear-gradient(90deg,#0003,#0000) 0/.7rem 100% no-repeat,"
  "linear-gradient(270deg,#0003,#0000) 100%/.7rem 100% no-repeat,#fff}"
  ".scroll{border:1px solid #e4e3de;border-radius:6px;margin:.75rem 0}"
  // Collapsed borders do not move with a sticky cell
  "table{border-collapse:separate;border-spacing:0;width:100%;"
  "font-size:.9rem}"
  "th,td{padding:.4rem .7rem;text-align:right;white-space:nowrap;"
  "border-bottom:1px solid #eeede8}"
  "tr:last-child td{border-bottom:0}"
  "th{font-weight:600;color:#66655f;font-size:.8rem;vertical-align:bottom}"
  "th:first-child,td:first-child{text-align:left;position:sticky;left:0;"
  "background:#fff padding-box}"
  "tr.sum td{border-top:1px solid #cfcdc5;font-weight:600}"
  "figure{margin:0;background-color:#fff;border:1px solid "
  "#e4e3de;border-radius:6px;"
  "padding:.5rem .5rem .25rem;min-width:0}"
  "figcaption{font-size:.9rem;font-weight:600;padding:0 .35rem}"
  "figcaption span{font-weight:400;color:#66655f}"
  "svg{display:block;width:100%;height:auto}"
  ".plots{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,"
  "21rem),1fr));gap:.75rem;margin:.75rem 0}"
  ".two{grid-template-columns:repeat(auto-fill,minmax(min(100%,28rem),1fr))}"
  ".wide{grid-column:1/-1}"
  "nav{margin:.75rem 0}nav a{margin-right:1rem;white-space:nowrap}"
  "a{color:#2a5f86}"
  "dl{margin:.5rem 0;max-width:46rem}dt{font-weight:600;margin-top:.6rem}"
  "dd{margin:0;color:#4a4a46}"
  "@media(max-width:40rem){body{padding:1rem .75rem 3rem}.time svg{"
  "min-width:48rem}.time figcaption{position:sticky;left:0;width:calc(100vw - "
  "3.5rem)}}"
  "@media print{body{max-width:none}h2{break-after:avoid}figure,tr{"
  "break-inside:avoid}}";

void
html_begin(FILE* f, const char* title)
{
  (void)fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n"
              "<meta charset=\"utf-8\">\n"
              "<meta name=\"viewport\" "
              "content=\"width=device-width,initial-scale=1\">\n<title>",
              f);
  html_text(f, title);
  (void)fprintf(f, "</title>\n<style>%s</style>\n</head>\n<body>\n", style);
}

void
html_end(FILE* f)
{
  (void)fputs("</body>\n</html>\n", f);
}

void
html_text(FILE* f, const char* text)
{
  for (const char* c = text; *c; ++c) {
    switch (*c) {
      case '&':
        (void)fputs("&amp;", f);
        break;
      case '<':
        (void)fputs("&lt;", f);
        break;
      case '>':
        (void)fputs("&gt;", f);
        break;
      case '"':
        (void)fputs("&quot;", f);
        break;
      default:
        (void)fputc(*c, f);
    }
  }
}

/// With a minus sign, and no sign before a zero
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
