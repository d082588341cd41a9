// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "jobs.h"

#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

typedef enum { IDLE, QUEUED, RUNNING, ENDED } job_state;

struct job {
  const stage_ops*    ops;
  const picture_part* part;

  // Under the mutex
  job_state state;
  bool      is_abandoned; ///< The worker frees it
  job*      next;         ///< In the queue

  atomic_bool stop;

  // Of whoever has it: the worker while RUNNING, else the window
  probe* player;
  float  inputs[PICTURE_MAX_INPUTS];
  bool   is_coarse;
  bool   is_good;
  void*  result;
};

static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
static job*            queue;
static bool            has_worker;

job*
job_new(const stage_ops* ops, const picture_part* part)
{
  job* const j = calloc(1, sizeof(*j));
  if (!j) {
    return NULL;
  }
  j->ops    = ops;
  j->part   = part;
  j->result = calloc(1, part->size);
  atomic_init(&j->stop, false);
  if (!j->result) {
    free(j);
    return NULL;
  }
  return j;
}

static void
destroy(job* j)
{
  probe_free(j->player);
  free(j->result);
  free(j);
}

static void
leave_queue(const job* j)
{
  job** at = &queue;
  while (*at && *at != j) {
    at = &(*at)->next;
  }
  if (*at) {
    *at = j->next;
  }
}

void
job_free(job* j)
{
  if (!j) {
    return;
  }
  (void)pthread_mutex_lock(&mutex);
  const bool runs = j->state == RUNNING;
  j->is_abandoned = runs;
  atomic_store(&j->stop, true);
  leave_queue(j);
  (void)pthread_mutex_unlock(&mutex);
  if (!runs) {
    destroy(j);
  }
}

bool
job_is_busy(const job* j)
{
  (void)pthread_mutex_lock(&mutex);
  const bool is_busy = j->state != IDLE;
  (void)pthread_mutex_unlock(&mutex);
  return is_busy;
}

/// Computes, in the worker
static void
compute(job* j)
{
  if (!j->player) {
    j->player = probe_new(j->ops, j->part->n_channels, &j->stop);
  }
  j->is_good = j->player != NULL;
  if (j->is_good) {
    memset(j->result, 0, j->part->size);
    probe_set(j->player, j->inputs);
    j->is_good =
      j->part->compute(j->player, j->inputs, j->is_coarse, j->result);
  }
}

static void*
work(void* unused)
{
  (void)unused;
  (void)pthread_mutex_lock(&mutex);
  while (queue) {
    job* const j = queue;
    queue        = j->next;
    j->state     = RUNNING;
    (void)pthread_mutex_unlock(&mutex);
    compute(j);
    (void)pthread_mutex_lock(&mutex);
    j->state = ENDED;
    if (j->is_abandoned) {
      destroy(j);
    }
  }
  has_worker = false;
  (void)pthread_mutex_unlock(&mutex);
  return NULL;
}

/// Starts the worker, deaf to the host's signals
static bool
start_worker(void)
{
  pthread_attr_t attributes;
  sigset_t       all;
  sigset_t       before;
  pthread_t      thread;
  if (pthread_attr_init(&attributes)) {
    return false;
  }
  (void)pthread_attr_setdetachstate(&attributes, PTHREAD_CREATE_DETACHED);
  (void)sigfillset(&all);
  (void)pthread_sigmask(SIG_SETMASK, &all, &before);
  const bool ok = !pthread_create(&thread, &attributes, work, NULL);
  (void)pthread_sigmask(SIG_SETMASK, &before, NULL);
  (void)pthread_attr_destroy(&attributes);
  return ok;
}

bool
job_start(job* j, const float* inputs, uint32_t n, bool is_coarse)
{
  const uint32_t held = n < PICTURE_MAX_INPUTS ? n : PICTURE_MAX_INPUTS;
  memcpy(j->inputs, inputs, held * sizeof(float));
  j->is_coarse = is_coarse;
  atomic_store(&j->stop, false);

  (void)pthread_mutex_lock(&mutex);
  job** end = &queue;
  while (*end) {
    end = &(*end)->next;
  }
  j->next  = NULL;
  j->state = QUEUED;
  *end     = j;
  if (!has_worker) {
    has_worker = start_worker();
  }
  if (!has_worker) {
    leave_queue(j);
    j->state = IDLE;
  }
  const bool ok = has_worker;
  (void)pthread_mutex_unlock(&mutex);
  return ok;
}

void
job_stop(job* j)
{
  atomic_store(&j->stop, true);
}

job_end
job_take(job* j, void* result)
{
  (void)pthread_mutex_lock(&mutex);
  const bool has_ended = j->state == ENDED;
  j->state             = has_ended ? IDLE : j->state;
  (void)pthread_mutex_unlock(&mutex);
  if (!has_ended) {
    return JOB_NOTHING;
  }
  if (!j->is_good) {
    return JOB_FAILED;
  }
  memcpy(result, j->result, j->part->size);
  return JOB_DONE;
}
