// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "worker_pool.h"

#include "presets-demo/render/program/alloc.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>

struct worker_pool {
  pthread_mutex_t lock; ///< Of all below
  pthread_cond_t  has_work, is_done;
  pthread_t*      threads;
  uint32_t        n_threads; ///< Without the caller
  void (*task)(void* user, uint32_t i);
  void*    user;
  uint32_t n;        ///< Tasks of this run
  uint32_t next;     ///< First that nobody has taken
  uint32_t n_undone; ///< Not finished
  bool     is_over;
};

/// Work until nothing is left to take; the lock is held outside of tasks
static void
work(worker_pool* c)
{
  while (c->next < c->n) {
    const uint32_t i = c->next++;
    (void)pthread_mutex_unlock(&c->lock);
    c->task(c->user, i);
    (void)pthread_mutex_lock(&c->lock);
    if (!--c->n_undone) {
      (void)pthread_cond_signal(&c->is_done);
    }
  }
}

static void*
worker(void* user)
{
  worker_pool* const c = user;
  (void)pthread_mutex_lock(&c->lock);
  while (!c->is_over) {
    work(c);
    if (!c->is_over) {
      (void)pthread_cond_wait(&c->has_work, &c->lock);
    }
  }
  (void)pthread_mutex_unlock(&c->lock);
  return NULL;
}

worker_pool*
worker_pool_new(uint32_t n)
{
  worker_pool* const c = alloc_new(1, sizeof(*c));
  c->threads           = alloc_new(n, sizeof(*c->threads));
  (void)pthread_mutex_init(&c->lock, NULL);
  (void)pthread_cond_init(&c->has_work, NULL);
  (void)pthread_cond_init(&c->is_done, NULL);
  while (c->n_threads + 1 < n &&
         !pthread_create(&c->threads[c->n_threads], NULL, worker, c)) {
    ++c->n_threads;
  }
  return c;
}

void
worker_pool_free(worker_pool* c)
{
  if (!c) {
    return;
  }
  (void)pthread_mutex_lock(&c->lock);
  c->is_over = true;
  (void)pthread_cond_broadcast(&c->has_work);
  (void)pthread_mutex_unlock(&c->lock);
  for (uint32_t i = 0; i < c->n_threads; ++i) {
    (void)pthread_join(c->threads[i], NULL);
  }
  (void)pthread_cond_destroy(&c->is_done);
  (void)pthread_cond_destroy(&c->has_work);
  (void)pthread_mutex_destroy(&c->lock);
  free(c->threads);
  free(c);
}

void
worker_pool_run(worker_pool* c,
                void (*task)(void* user, uint32_t i),
                void*    user,
                uint32_t n)
{
  (void)pthread_mutex_lock(&c->lock);
  c->task     = task;
  c->user     = user;
  c->n        = n;
  c->next     = 0;
  c->n_undone = n;
  (void)pthread_cond_broadcast(&c->has_work);
  work(c);
  while (c->n_undone) {
    (void)pthread_cond_wait(&c->is_done, &c->lock);
  }
  (void)pthread_mutex_unlock(&c->lock);
}
