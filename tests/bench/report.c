// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MAX_VALUES 16
#define MAX_LENGTH 40

typedef struct {
  char key[MAX_LENGTH];
  char text[MAX_LENGTH];
  bool is_text;
} value;

static bool  as_json;
static int   n_sections;
static int   n_rows; ///< In this section
static int   n_values;
static value values[MAX_VALUES];

void
report_open(bool json)
{
  as_json    = json;
  n_sections = 0;
  if (as_json) {
    printf("{");
  }
}

static void
end_section(void)
{
  if (as_json && n_sections > 0) {
    printf("\n  ]");
  }
}

void
report_close(void)
{
  end_section();
  if (as_json) {
    printf("\n}\n");
  }
}

void
report_section(const char* key, const char* title)
{
  end_section();
  if (as_json) {
    printf("%s\n  \"%s\": [", n_sections ? "," : "", key);
  } else {
    printf("%s%s\n", n_sections ? "\n" : "", title);
  }
  ++n_sections;
  n_rows = 0;
  (void)fflush(stdout);
}

static value*
add(const char* key, bool is_text)
{
  value* const v = &values[n_values < MAX_VALUES - 1 ? n_values++ : n_values];
  (void)snprintf(v->key, sizeof(v->key), "%s", key);
  v->is_text = is_text;
  return v;
}

void
report_text(const char* key, const char* text)
{
  value* const v = add(key, true);
  (void)snprintf(v->text, sizeof(v->text), "%s", text);
}

void
report_number(const char* key, int decimals, double x)
{
  value* const v = add(key, false);
  if (isnan(x)) {
    (void)snprintf(v->text, sizeof(v->text), "%s", as_json ? "null" : "-");
  } else {
    (void)snprintf(v->text, sizeof(v->text), "%.*f", decimals, x);
  }
}

/// The first column is a name; each of the others is as wide as its head
static void
print_cell(int i, const char* text)
{
  const int head = (int)strlen(values[i].key) + 2;
  if (i == 0) {
    printf("%-18s", text);
  } else if (values[i].is_text) {
    printf("  %-*s", head, text);
  } else {
    printf("%*s", head < 9 ? 9 : head, text);
  }
}

void
report_end_row(void)
{
  if (as_json) {
    printf("%s\n    {", n_rows ? "," : "");
    for (int i = 0; i < n_values; ++i) {
      const char* const quote = values[i].is_text ? "\"" : "";
      printf("%s\"%s\": %s%s%s", i ? ", " : "", values[i].key, quote,
             values[i].text, quote);
    }
    printf("}");
  } else {
    for (int i = 0; i < n_values && n_rows == 0; ++i) {
      print_cell(i, values[i].key);
    }
    printf("%s", n_rows == 0 ? "\n" : "");
    for (int i = 0; i < n_values; ++i) {
      print_cell(i, values[i].text);
    }
    printf("\n");
  }
  ++n_rows;
  n_values = 0;
  (void)fflush(stdout);
}
