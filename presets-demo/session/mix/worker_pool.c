// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "worker_pool.h"

#include "presets-demo/render/program/alloc.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

struct worker_pool {
  pthread_mutex_t lock; ///< For all below
  pthread_cond_t  has_work, is_done;
  pthread_t*      threads;
  uint32_t        n_threads; ///< Without the caller
  void (*task)(void* user, uint32_t i);
  void*    user;
  uint32_t n;        ///< Tasks of this run
  uint32_t next;     ///< First that is not taken
  uint32_t n_undone; ///< Not finished
  bool     is_over;
};

/// Works until no task is left; holds the lock except during tasks
static void
work(worker_pool* p)
{
  while (p->next < p->n) {
    const uint32_t i = p->next++;
    (void)pthread_mutex_unlock(&p->lock);
    p->task(p->user, i);
    (void)pthread_mutex_lock(&p->lock);
    if (!--p->n_undone) {
      (void)pthread_cond_signal(&p->is_done);
    }
  }
}

static void*
worker(void* user)
{
  worker_pool* const p = user;
  (void)pthread_mutex_lock(&p->lock);
  while (!p->is_over) {
    work(p);
    if (!p->is_over) {
      (void)pthread_cond_wait(&p->has_work, &p->lock);
    }
  }
  (void)pthread_mutex_unlock(&p->lock);
  return NULL;
}

worker_pool*
worker_pool_new(uint32_t n)
{
  worker_pool* const p = alloc_new(1, sizeof(*p));
  p->threads           = alloc_new(n, sizeof(*p->threads));
  (void)pthread_mutex_init(&p->lock, NULL);
  (void)pthread_cond_init(&p->has_work, NULL);
  (void)pthread_cond_init(&p->is_done, NULL);
  while (p->n_threads + 1 < n &&
         !pthread_create(&p->threads[p->n_threads], NULL, worker, p)) {
    ++p->n_threads;
  }
  return p;
}

void
worker_pool_free(worker_pool* p)
{
  if (!p) {
    return;
  }
  (void)pthread_mutex_lock(&p->lock);
  p->is_over = true;
  (void)pthread_cond_broadcast(&p->has_work);
  (void)pthread_mutex_unlock(&p->lock);
  for (uint32_t i = 0; i < p->n_threads; ++i) {
    (void)pthread_join(p->threads[i], NULL);
  }
  (void)pthread_cond_destroy(&p->is_done);
  (void)pthread_cond_destroy(&p->has_work);
  (void)pthread_mutex_destroy(&p->lock);
  free(p->threads);
  free(p);
}

void
worker_pool_run(worker_pool* p,
                void (*task)(void* user, uint32_t i),
                void*    user,
                uint32_t n)
{
  (void)pthread_mutex_lock(&p->lock);
  p->task     = task;
  p->user     = user;
  p->n        = n;
  p->next     = 0;
  p->n_undone = n;
  (void)pthread_cond_broadcast(&p->has_work);
  work(p);
  while (p->n_undone) {
    (void)pthread_cond_wait(&p->is_done, &p->lock);
  }
  (void)pthread_mutex_unlock(&p->lock);
}
