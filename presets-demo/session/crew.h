// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Threads that work off a list of tasks together, again and again

#ifndef PRESETS_DEMO_SESSION_CREW_H
#define PRESETS_DEMO_SESSION_CREW_H

#include <stdint.h>

typedef struct crew crew;

/// `n` threads at work, the calling one included; never NULL.  Fewer if the
/// system gives no more.
crew*
crew_new(uint32_t n);

void
crew_free(crew* c);

/// Call `task` for each number below `n`, each once, in any thread and order,
/// and return when all are done
void
crew_run(crew* c, void (*task)(void* user, uint32_t i), void* user, uint32_t n);

#endif // PRESETS_DEMO_SESSION_CREW_H
