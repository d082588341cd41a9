// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "control.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SEMITONE 1.0594630943592953 // 2^(1/12)

double
control_place(const param_info* p, double value)
{
  const double lo = (double)p->min;
  const double hi = (double)p->max;
  const double u  = p->taper == TAPER_LOG ? log(value / lo) / log(hi / lo)
                                          : (value - lo) / (hi - lo);
  return fmin(fmax(u, 0.0), 1.0);
}

double
control_value(const param_info* p, double place)
{
  const double lo = (double)p->min;
  const double hi = (double)p->max;
  const double u  = fmin(fmax(place, 0.0), 1.0);
  return p->taper == TAPER_LOG ? lo * pow(hi / lo, u) : lo + u * (hi - lo);
}

float
control_held(const param_info* p, double value)
{
  const double x = fmin(fmax(value, (double)p->min), (double)p->max);
  return (float)(p->kind == PARAM_NUM ? x : round(x));
}

/// Digits after the point, in the unit of the control
static int
digits_of(const param_info* p, double value)
{
  const double size = fabs(value);
  switch (p->unit) {
    case UNIT_HZ:
      return size < 1000 ? 0 : -1; // Of kHz two, which is 10 Hz
    case UNIT_MS:
      return p->taper == TAPER_LOG && size < 0.995 ? 2 : size < 9.95 ? 1 : 0;
    case UNIT_PC:
      return p->max <= 2 ? 2 : 0;
    case UNIT_OCT:
    case UNIT_S:
    case UNIT_M:
      return 2;
    case UNIT_M3:
    case UNIT_FRAMES:
      return 0;
    default:
      return 1;
  }
}

static double
place_of_last_digit(const param_info* p, double value)
{
  return pow(10.0, -digits_of(p, value));
}

float
control_round(const param_info* p, double value)
{
  const double held = (double)control_held(p, value);
  if (p->kind != PARAM_NUM || held == (double)p->min ||
      held == (double)p->max) {
    return (float)held;
  }
  const double unit = place_of_last_digit(p, held);
  return control_held(p, round(held / unit) * unit);
}

float
control_step(const param_info* p, float value, double steps, bool is_fine)
{
  if (p->kind != PARAM_NUM) {
    return control_held(p, (double)value + steps);
  }
  const double from = (double)value;
  const double unit = place_of_last_digit(p, from);
  double       to   = 0;
  if (p->taper == TAPER_LOG) {
    to = from * pow(SEMITONE, is_fine ? 0.2 * steps : steps);
  } else {
    const double step = p->unit == UNIT_DB                ? 0.5
                        : p->unit == UNIT_PC && unit >= 1 ? 1.0
                                                          : unit;
    to                = from + (is_fine ? 0.2 : 1.0) * steps * step;
  }
  const float rounded = control_round(p, to);
  // At least by the last place shown
  return rounded == value ? control_round(p, from + copysign(unit, steps))
                          : rounded;
}

void
control_figure(const param_info* p, float value, char text[CONTROL_TEXT])
{
  const double x = (double)value;
  if (p->unit == UNIT_HZ && fabs(x) >= 1000) {
    (void)snprintf(text, CONTROL_TEXT, "%.2f", x / 1000);
  } else {
    const int digits = digits_of(p, x);
    // No minus before a zero
    const double least = 0.5 * pow(10.0, -digits);
    (void)snprintf(text, CONTROL_TEXT, "%.*f", digits < 0 ? 0 : digits,
                   fabs(x) < least ? 0.0 : x);
  }
}

const char*
control_base_unit(const param_info* p)
{
  static const char* const units[] = {
    [UNIT_NONE] = "", [UNIT_CM] = "cm",   [UNIT_DB] = "dB",
    [UNIT_HZ] = "Hz", [UNIT_M] = "m",     [UNIT_M3] = "m\xC2\xB3",
    [UNIT_MS] = "ms", [UNIT_OCT] = "oct", [UNIT_OHM] = "\xCE\xA9",
    [UNIT_PC] = "%",  [UNIT_S] = "s",     [UNIT_FRAMES] = "frames",
  };
  return units[p->unit];
}

const char*
control_unit(const param_info* p, float value)
{
  return p->unit == UNIT_HZ && fabsf(value) >= 1000.0F ? "kHz"
                                                       : control_base_unit(p);
}

// ---------------------------------------------------------------------------
// Typing

/// Reads a decimal number without exponent, locale or hexadecimals; returns
/// where it ends, or NULL
static const char*
read_number(const char* c, double* x)
{
  double sign  = 1;
  double value = 0;
  double place = 1;
  int    count = 0;
  if (*c == '-' || *c == '+') {
    sign = *c++ == '-' ? -1 : 1;
  }
  for (; isdigit((unsigned char)*c); ++c, ++count) {
    value = 10 * value + (*c - '0');
  }
  if (*c == '.' || *c == ',') {
    for (++c; isdigit((unsigned char)*c); ++c, ++count) {
      place *= 0.1;
      value += place * (*c - '0');
    }
  }
  *x = sign * value;
  return count ? c : NULL;
}

static const char*
skip_blank(const char* c)
{
  while (*c == ' ') {
    ++c;
  }
  return c;
}

static char
lower(char c)
{
  return (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

/// Reads "k", the unit or nothing; false if something else is there
static bool
read_unit(const param_info* p, const char* c, double* factor)
{
  const char* unit = control_unit(p, 0.0F);
  c                = skip_blank(c);
  if (lower(*c) == 'k') {
    *factor = 1000;
    ++c;
  }
  for (; *unit && *c && lower(*c) == lower(*unit); ++c) {
    ++unit;
  }
  return *skip_blank(c) == '\0';
}

bool
control_read(const param_info* p, const char* text, float now, float* value)
{
  const char* c       = skip_blank(text);
  const bool  is_plus = *c == '+';
  const bool  is_part = *c == '*';
  double      x       = 0;
  double      factor  = 1;
  c                   = read_number(c + is_part, &x);
  if (!c || !read_unit(p, c, &factor)) {
    return false;
  }
  x *= factor;
  *value = control_held(p, is_plus   ? (double)now + x
                           : is_part ? (double)now * x
                                     : x);
  return true;
}

// ---------------------------------------------------------------------------
// Choices

/// "Off" becomes "off", but "A" and "DI" stay
static void
lower_first(char* text)
{
  const bool is_word =
    isupper((unsigned char)text[0]) && islower((unsigned char)text[1]);
  if (is_word) {
    text[0] = lower(text[0]);
  }
}

static void
take_labels(const char* labels, control_choices* choices)
{
  while (choices->n < CONTROL_MAX_CHOICES) {
    const size_t length = strcspn(labels, "|");
    char* const  to     = choices->label[choices->n++];
    (void)snprintf(to, CONTROL_TEXT, "%.*s", (int)length, labels);
    lower_first(to);
    labels += length;
    if (!*labels) {
      return;
    }
    ++labels;
  }
}

/// "12 dB/oct", "18 dB/oct" become "12", "18" of "dB/oct"
static void
share_unit(const char* labels, control_choices* choices)
{
  const char* const unit = strrchr(labels, ' ');
  for (uint32_t i = 0; unit && i < choices->n; ++i) {
    const char* const end = strrchr(choices->label[i], ' ');
    if (!end || strcmp(end, unit) != 0) {
      return;
    }
  }
  if (unit) {
    choices->unit = unit + 1;
    for (uint32_t i = 0; i < choices->n; ++i) {
      *strrchr(choices->label[i], ' ') = '\0';
    }
  }
}

void
control_labels(const param_info* p, control_choices* choices)
{
  memset(choices, 0, sizeof(*choices));
  choices->unit = "";
  if (p->kind == PARAM_TOG) {
    take_labels("off|on", choices);
  } else if (p->kind == PARAM_SEL) {
    take_labels(p->labels, choices);
    share_unit(p->labels, choices);
  }
}
