// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Chooses where an excerpt begins, from the levels of a take

#ifndef PRESETS_DEMO_SESSION_LISTEN_LISTEN_CHOICE_H
#define PRESETS_DEMO_SESSION_LISTEN_LISTEN_CHOICE_H

#include "plugins/text/failure.h"
#include "presets-demo/render/audio/audio_mend.h"

#include <signal.h>
#include <stdint.h>

/// Steps in which levels are looked at
#define LISTEN_STEP_S 0.1

/// Mean squares of a take, or of several together, by step
typedef struct {
  double*  power;
  uint32_t n;
} listen_levels;

void
listen_levels_clear(listen_levels* l);

/// Reads a recording once.  Returns false with a failure, an empty one if
/// stopped.
bool
listen_levels_read(listen_levels*               l,
                   const char*                  file,
                   const audio_mend*            mend,
                   const volatile sig_atomic_t* stop,
                   failure*                     f);

/// Adds the levels of another take, as if both were unrelated
void
listen_levels_add(listen_levels* l, const listen_levels* other);

/// Returns the first step of the `length` steps that tell most about what the
/// stages do: played without long pauses, and both soft and hard.  It lies just
/// before a stroke where there is one.
uint32_t
listen_choice(const listen_levels* l, uint32_t length);

#endif // PRESETS_DEMO_SESSION_LISTEN_LISTEN_CHOICE_H
