// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is said about a take: the one place that words it

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_WORDS_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_WORDS_H

#include "take_check.h"

#define TAKE_MAX_LINES 8U

/// One line.  Programs may rely on `kind`, `value` and `unit`:
///
/// | kind           | value                                    | unit |
/// |----------------|------------------------------------------|------|
/// | clipping       | share of the frames in flat tops         | %    |
/// | dc             | the largest that is taken out, signed    | FS   |
/// | hum            | level re the playing; without it, level  | dB, dBFS |
/// | silent_channel | its number: 1 is left, 2 is right        |      |
/// | no_playing     | level of what is there                   | dBFS |
/// | quiet, hot     | level of the playing                     | dBFS |
/// | dropouts       | time in dropouts                         | s    |
typedef struct {
  char   kind[16];
  double at_s;  ///< First place; NAN if it is everywhere
  double value; ///< -INFINITY for silence
  char   unit[8];
  char   text[256];
} take_line;

typedef struct {
  take_line lines[TAKE_MAX_LINES];
  uint32_t  n;
} take_lines;

/// Says what was found.  `mains_hz` is the hum that the setup removes, 0
/// without; `is_aligned` says whether the take is brought to level.
take_lines
take_words(const take_figures* f, bool is_aligned, double mains_hz);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_WORDS_H
