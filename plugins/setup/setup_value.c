// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_value.h"

#include <ctype.h>
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define BASE_LENGTH 4U ///< Of the word

/// The values a control takes, in words: "a number from -12 to 48 dB"
typedef struct {
  char text[512];
} expectation;

static expectation
expected_of(const control_input* c)
{
  expectation e = {"on or off"};
  if (c->kind == CONTROL_CHOICE) {
    size_t length = (size_t)snprintf(e.text, sizeof(e.text), "one of: ");
    for (uint32_t i = 0; i < c->n_choices && length < sizeof(e.text); ++i) {
      length += (size_t)snprintf(e.text + length, sizeof(e.text) - length,
                                 "%s%s", i ? ", " : "", c->choices[i].label);
    }
  } else if (c->kind == CONTROL_NUMBER) {
    const char* const what = c->is_integer ? "whole number" : "number";
    const char* const gap  = *c->unit ? " " : "";
    if (c->min <= -FLT_MAX || c->max >= FLT_MAX) {
      (void)snprintf(e.text, sizeof(e.text), "a %s%s%s", what, gap, c->unit);
    } else {
      (void)snprintf(e.text, sizeof(e.text), "a %s from %g to %g%s%s", what,
                     (double)c->min, (double)c->max, gap, c->unit);
    }
  }
  return e;
}

static bool
refuse(const control_input* c, const char* text, const char* why, failure* f)
{
  const expectation e = expected_of(c);
  return fail_with(f, "%s = %s%s; expected %s", c->symbol, text, why, e.text);
}

static const char*
skip_space(const char* text)
{
  return text + strspn(text, " \t");
}

/// Compares regardless of letter case and the amount of white space
static bool
same_words(const char* a, const char* b)
{
  while (*a || *b) {
    const size_t word = strcspn(a, " \t");
    if (word != strcspn(b, " \t") || strncasecmp(a, b, word) != 0) {
      return false;
    }
    a = skip_space(a + word);
    b = skip_space(b + word);
  }
  return true;
}

/// Reads a plain decimal number; strtod() alone would also take "nan",
/// "infinity" and hexadecimal.  Returns what follows it, NULL if there is none.
static const char*
read_number(const char* text, double* number)
{
  const char* digits = text + (*text == '+' || *text == '-');
  digits += *digits == '.';
  if (!isdigit((unsigned char)*digits) ||
      (digits[0] == '0' && (digits[1] == 'x' || digits[1] == 'X'))) {
    return NULL;
  }
  char* end = NULL;
  *number   = strtod(text, &end);
  return end;
}

/// Returns true for the control's own unit: its symbol, or the suffix of the
/// control ("pc")
static bool
is_own_unit(const control_input* c, const char* text)
{
  const char* const suffix = strrchr(c->symbol, '_');
  return *c->unit && (!strcasecmp(text, c->unit) ||
                      (suffix && !strcasecmp(text, suffix + 1)));
}

static bool
check_unit(const control_input* c,
           const char*          text,
           const char*          unit,
           failure*             f)
{
  if (!*unit || is_own_unit(c, unit)) {
    return true;
  }
  if (*unit == ',' && isdigit((unsigned char)unit[1])) {
    return refuse(c, text, ": has a decimal comma, not a point", f);
  }
  char why[128];
  (void)snprintf(why, sizeof(why), ": '%.64s' is not its unit", unit);
  return refuse(c, text, why, f);
}

static bool
in_range(const control_input* c,
         const char*          text,
         double               number,
         float*               value,
         failure*             f)
{
  // As a float, as the plugin gets it: then 0.1 is not below a minimum of 0.1
  const float rounded = (float)number;
  if (!(rounded >= c->min && rounded <= c->max)) {
    return refuse(c, text, " is out of range", f);
  }
  if (c->is_integer && rounded != rintf(rounded)) {
    return refuse(c, text, " is not whole", f);
  }
  *value = rounded;
  return true;
}

static bool
read_plain(const control_input* c, const char* text, float* value, failure* f)
{
  double            number = 0.0;
  const char* const unit   = read_number(text, &number);
  if (!unit) {
    return refuse(c, text, "", f);
  }
  return check_unit(c, text, skip_space(unit), f) &&
         in_range(c, text, number, value, f);
}

/// `rest` is what follows the word "base"
static bool
read_relative(const control_input* c,
              const char*          text,
              const char*          rest,
              float                base,
              float*               value,
              failure*             f)
{
  const char   operation = *rest;
  double       number    = 0.0;
  const char*  unit      = NULL;
  const double from      = (double)base;
  if (operation && strchr("+-*/", operation)) {
    unit = read_number(skip_space(rest + 1), &number);
  }
  if (!unit || (operation == '/' && number == 0.0)) {
    return fail_with(
      f, "%s = %s; expected base + x, base - x, base * x or base / x",
      c->symbol, text);
  }
  unit = skip_space(unit);
  if (*unit && (operation == '*' || operation == '/')) {
    return fail_with(f, "%s = %s: unit '%s'; expected a plain factor",
                     c->symbol, text, unit);
  }
  const double result = operation == '+'   ? from + number
                        : operation == '-' ? from - number
                        : operation == '*' ? from * number
                                           : from / number;
  char         shown[256];
  (void)snprintf(shown, sizeof(shown), "%.200s gives %g, which", text, result);
  return check_unit(c, text, unit, f) && in_range(c, shown, result, value, f);
}

static bool
read_toggle(const control_input* c, const char* text, float* value, failure* f)
{
  static const char* const words[] = {"off", "on", "no", "yes", "0", "1"};
  for (uint32_t i = 0; i < sizeof(words) / sizeof(words[0]); ++i) {
    if (!strcasecmp(text, words[i])) {
      *value = (float)(i % 2);
      return true;
    }
  }
  return refuse(c, text, "", f);
}

static bool
read_choice(const control_input* c, const char* text, float* value, failure* f)
{
  for (uint32_t i = 0; i < c->n_choices; ++i) {
    if (same_words(text, c->choices[i].label)) {
      *value = c->choices[i].value;
      return true;
    }
  }
  return refuse(c, text, "", f);
}

bool
setup_value_is_relative(const char* text)
{
  return strcspn(text, " \t+-*/") == BASE_LENGTH &&
         !strncasecmp(text, "base", BASE_LENGTH);
}

bool
setup_value_read(const control_input* c,
                 const char*          text,
                 const float*         base,
                 float*               value,
                 failure*             f)
{
  if (setup_value_is_relative(text)) {
    const char* const rest = skip_space(text + BASE_LENGTH);
    if (!base) {
      return fail_with(
        f,
        "%s = %s: there is no base; expected 'from = FILE' before "
        "the first section",
        c->symbol, text);
    }
    if (!*rest) {
      *value = *base;
      return true;
    }
    if (c->kind == CONTROL_NUMBER) {
      return read_relative(c, text, rest, *base, value, f);
    }
  }
  switch (c->kind) {
    case CONTROL_TOGGLE:
      return read_toggle(c, text, value, f);
    case CONTROL_CHOICE:
      return read_choice(c, text, value, f);
    default:
      return read_plain(c, text, value, f);
  }
}
