// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Threads that work off a list of tasks together, again and again

#ifndef PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H
#define PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H

#include <stdint.h>

typedef struct worker_pool worker_pool;

/// `n` threads at work, the calling one included; never NULL.  Fewer if the
/// system gives no more.
worker_pool*
worker_pool_new(uint32_t n);

void
worker_pool_free(worker_pool* p);

/// Call `task` for each number below `n`, each once, in any thread and order,
/// and return when all are done
void
worker_pool_run(worker_pool* p,
                void (*task)(void* user, uint32_t i),
                void*    user,
                uint32_t n);

#endif // PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H
