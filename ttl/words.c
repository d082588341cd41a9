// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "words.h"

#include "ttl/writer/turtle_writer.h"

#include <lv2/units/units.h>

#include <stdio.h>
#include <string.h>

// Figures after the point: as many as are heard, or as a rule shows
static const unit_words units[] = {
  [UNIT_NONE]   = {.text = ""},
  [UNIT_CM]     = {"cm", LV2_UNITS__cm, "centimetres", 1},
  [UNIT_DB]     = {"dB", LV2_UNITS__db, "decibels", 1},
  [UNIT_FRAMES] = {"frames", LV2_UNITS__frame, "audio frames", 0},
  [UNIT_HZ]     = {"Hz", LV2_UNITS__hz, "hertz", 0},
  [UNIT_M]      = {"m", LV2_UNITS__m, "metres", 2},
  [UNIT_M3]     = {"m³", NULL, "cubic metres", 0},
  [UNIT_MS]     = {"ms", LV2_UNITS__ms, "milliseconds", 1},
  [UNIT_OCT]    = {"oct", LV2_UNITS__oct, "octaves", 2},
  [UNIT_OHM]    = {"Ω", NULL, "ohms", 1},
  [UNIT_PC]     = {"%", LV2_UNITS__pc, "per cent", 0},
  [UNIT_S]      = {"s", LV2_UNITS__s, "seconds", 2},
};

const unit_words*
words_unit(param_unit unit)
{
  return &units[unit];
}

const char*
words_render(param_unit unit, float min, float max, char* text, size_t size)
{
  const unit_words* const u = words_unit(unit);
  // A range of 1 % needs them
  const uint32_t figures =
    unit == UNIT_PC && max - min <= 1.0F ? 2 : u->figures;
  (void)snprintf(text, size, "%%.%uf %s%s", figures, unit == UNIT_PC ? "%" : "",
                 u->text);
  return text;
}

const char*
words_decimal(float x, char* text, size_t size)
{
  char       decimal[TURTLE_DECIMAL_SIZE];
  const int  length   = (int)strlen(turtle_decimal(x, decimal));
  const bool is_whole = !strcmp(decimal + length - 2, ".0");
  (void)snprintf(text, size, "%.*s", is_whole ? length - 2 : length, decimal);
  return text;
}

const char*
words_label(const char* labels, uint32_t i, int* length)
{
  for (; i > 0; --i) {
    labels = strchr(labels, '|') + 1;
  }
  *length = (int)strcspn(labels, "|");
  return labels;
}

uint32_t
words_label_count(const char* labels)
{
  uint32_t n = 1;
  for (; (labels = strchr(labels, '|')); ++labels) {
    ++n;
  }
  return n;
}
