// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Threads that share lists of tasks

#ifndef PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H
#define PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H

#include <stdint.h>

typedef struct worker_pool worker_pool;

/// Starts `n` threads, including the calling one, or fewer if the system gives
/// no more; never returns NULL
worker_pool*
worker_pool_new(uint32_t n);

void
worker_pool_free(worker_pool* p);

/// Calls `task` once for each number below `n`, in any thread and order;
/// returns when all are done
void
worker_pool_run(worker_pool* p,
                void (*task)(void* user, uint32_t i),
                void*    user,
                uint32_t n);

#endif // PRESETS_DEMO_SESSION_MIX_WORKER_POOL_H
