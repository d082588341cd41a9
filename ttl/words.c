// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "words.h"

#include "ttl/writer/turtle_writer.h"

#include <lv2/units/units.h>

#include <stdio.h>
#include <string.h>

static const unit_words units[] = {
  [UNIT_NONE]   = {.text = ""},
  [UNIT_CM]     = {.text = "cm", .uri = LV2_UNITS__cm},
  [UNIT_DB]     = {.text = "dB", .uri = LV2_UNITS__db},
  [UNIT_FRAMES] = {.text = "frames", .uri = LV2_UNITS__frame},
  [UNIT_HZ]     = {.text = "Hz", .uri = LV2_UNITS__hz},
  [UNIT_M]      = {.text = "m", .uri = LV2_UNITS__m},
  [UNIT_M3]     = {.text = "m³", .name = "cubic metres", .render = "%.0f m³"},
  [UNIT_MS]     = {.text = "ms", .uri = LV2_UNITS__ms},
  [UNIT_OCT]    = {.text = "oct", .uri = LV2_UNITS__oct},
  [UNIT_OHM]    = {.text = "Ω", .name = "ohms", .render = "%.1f Ω"},
  [UNIT_PC]     = {.text = "%", .uri = LV2_UNITS__pc},
  [UNIT_S]      = {.text = "s", .uri = LV2_UNITS__s},
};

const unit_words*
words_unit(param_unit unit)
{
  return &units[unit];
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
