// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Values of controls on their scales and in words: places, steps, what is
/// shown and what may be typed.

#ifndef PLUGINS_WINDOW_CONTROLS_CONTROL_H
#define PLUGINS_WINDOW_CONTROLS_CONTROL_H

#include "common/core/params.h"

#include <stdbool.h>
#include <stddef.h>

enum { CONTROL_TEXT = 32, CONTROL_MAX_CHOICES = 8 };

/// Returns the place on the scale, 0 to 1, and the value at one
double
control_place(const param_info* p, double value);

double
control_value(const param_info* p, double place);

/// Returns the value within its range; choices as whole numbers
float
control_held(const param_info* p, double value);

/// Returns the held value nearest to what can be shown, so that what is shown
/// is what is set
float
control_round(const param_info* p, double value);

/// Returns the value `steps` steps on: dB 0.5, log scales a semitone, % 1,
/// others one in the last place shown; a fine one is a fifth of it.  Never the
/// same value, unless at the end.
float
control_step(const param_info* p, float value, double steps, bool is_fine);

/// Writes the figure without its unit: one decimal for dB; from 1000 Hz on in
/// kHz with two
void
control_figure(const param_info* p, float value, char text[CONTROL_TEXT]);

/// Returns the unit that belongs to the figure, "" for none
const char*
control_unit(const param_info* p, float value);

/// Returns the unit of its values, "" for none
const char*
control_base_unit(const param_info* p);

/// Reads what was typed: with comma or point, a unit behind it if one likes
/// ("3 kHz", "3k"); "+3" and "*1.2" work from the present value.  False if it
/// is none of these.
bool
control_read(const param_info* p, const char* text, float now, float* value);

/// Choices of a selection, or of a toggle, in lower case and without the unit
/// that all of them share
typedef struct {
  char        label[CONTROL_MAX_CHOICES][CONTROL_TEXT];
  uint32_t    n;
  const char* unit; ///< That all share, or ""
} control_choices;

/// Writes the choices; none for a number
void
control_labels(const param_info* p, control_choices* choices);

#endif // PLUGINS_WINDOW_CONTROLS_CONTROL_H
