// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const unit_words units[] = {
  [UNIT_NONE]   = {NULL, ""},
  [UNIT_CM]     = {"units:cm", "cm"},
  [UNIT_DB]     = {"units:db", "dB"},
  [UNIT_FRAMES] = {"units:frame", "frames"},
  [UNIT_HZ]     = {"units:hz", "Hz"},
  [UNIT_M]      = {"units:m", "m"},
  [UNIT_M3]  = {"[\n\t\t\ta units:Unit ;\n\t\t\trdfs:label \"cubic metres\" ;\n"
                 "\t\t\tunits:symbol \"m³\" ;\n"
                 "\t\t\tunits:render \"%.0f m³\"\n\t\t]",
                "m³"},
  [UNIT_MS]  = {"units:ms", "ms"},
  [UNIT_OCT] = {"units:oct", "oct"},
  [UNIT_OHM] = {"[\n\t\t\ta units:Unit ;\n\t\t\trdfs:label \"ohms\" ;\n"
                "\t\t\tunits:symbol \"Ω\" ;\n"
                "\t\t\tunits:render \"%.1f Ω\"\n\t\t]",
                "Ω"},
  [UNIT_PC]  = {"units:pc", "%"},
  [UNIT_S]   = {"units:s", "s"},
};

const unit_words*
words_unit(param_unit unit)
{
  return &units[unit];
}

const char*
words_decimal(float x, char* text, size_t size)
{
  for (int digits = 1; digits <= 9; ++digits) {
    (void)snprintf(text, size, "%.*g", digits, (double)x);
    if (strtof(text, NULL) == x && !strchr(text, 'e')) {
      break;
    }
  }
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
