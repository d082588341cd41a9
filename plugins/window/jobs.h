// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Parts of pictures, computed on a worker thread that all windows of a process
/// share.  The thread lives while there is work.  Nothing here waits for it.

#ifndef PLUGINS_WINDOW_JOBS_H
#define PLUGINS_WINDOW_JOBS_H

#include "plugins/window/pictures/picture.h"

/// One part of one window: a probe, and at most one computation at a time
typedef struct job job;

/// NULL without memory
job*
job_new(const stage_ops* ops, const picture_part* part);

/// Gives it up, computing or not
void
job_free(job* j);

/// Whether it computes, or its result was not yet taken
bool
job_is_busy(const job* j);

/// Starts to compute; the job must not be busy.  False if no thread could be
/// started.
bool
job_start(job* j, const float* inputs, uint32_t n, bool is_coarse);

/// Tells a computation that its result is no longer wanted
void
job_stop(job* j);

typedef enum { JOB_NOTHING, JOB_DONE, JOB_FAILED } job_end;

/// Takes the result of a computation that has ended; JOB_FAILED: stopped, or
/// without memory
job_end
job_take(job* j, void* result);

#endif // PLUGINS_WINDOW_JOBS_H
