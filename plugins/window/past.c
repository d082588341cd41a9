// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "past.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/// One past of the library, in a list
typedef struct kept kept;

struct kept {
  kept*        next;
  window_past* past;
  uint32_t     mark;
  uint64_t     closed_at; ///< Number of the closing; 0: a window shows it
  char         uri[64];
};

static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;
static kept*           all;
static uint64_t        n_closings;

window_past*
past_new(void)
{
  return calloc(1, sizeof(window_past));
}

static kept*
find(const char* uri, uint32_t mark)
{
  for (kept* k = all; k; k = k->next) {
    if (k->mark == mark && !strcmp(k->uri, uri)) {
      return k;
    }
  }
  return NULL;
}

/// Without memory it is not kept: it goes with the window
static void
add(window_past* p, const char* uri, uint32_t mark)
{
  const size_t length = strlen(uri);
  kept* const  k      = length < sizeof(k->uri) ? calloc(1, sizeof(*k)) : NULL;
  if (k) {
    memcpy(k->uri, uri, length + 1);
    k->past = p;
    k->mark = mark;
    k->next = all;
    all     = k;
  }
}

bool
past_keep(window_past* p, const char* uri, uint32_t mark)
{
  (void)pthread_mutex_lock(&mutex);
  const bool is_taken = find(uri, mark) != NULL;
  if (!is_taken) {
    add(p, uri, mark);
  }
  (void)pthread_mutex_unlock(&mutex);
  return !is_taken;
}

bool
past_claim(window_past** p, const char* uri, uint32_t mark)
{
  bool is_ours = true;
  (void)pthread_mutex_lock(&mutex);
  kept* const k = find(uri, mark);
  if (!k) {
    add(*p, uri, mark);
  } else if (k->closed_at) {
    free(*p);
    *p           = k->past;
    k->closed_at = 0;
  } else if (k->past != *p) {
    **p     = *k->past;
    is_ours = false;
  }
  (void)pthread_mutex_unlock(&mutex);
  return is_ours;
}

/// Forgets the one that was closed first, where there are too many
static void
forget_oldest(void)
{
  kept**   oldest = NULL;
  uint32_t n      = 0;
  for (kept** k = &all; *k; k = &(*k)->next) {
    if ((*k)->closed_at) {
      ++n;
      oldest = !oldest || (*k)->closed_at < (*oldest)->closed_at ? k : oldest;
    }
  }
  if (n > PAST_CLOSED) {
    kept* const gone = *oldest;
    *oldest          = gone->next;
    free(gone->past);
    free(gone);
  }
}

void
past_leave(window_past* p)
{
  bool is_kept = false;
  (void)pthread_mutex_lock(&mutex);
  for (kept* k = all; k; k = k->next) {
    if (k->past == p) {
      k->closed_at = ++n_closings;
      is_kept      = true;
    }
  }
  forget_oldest();
  (void)pthread_mutex_unlock(&mutex);
  if (!is_kept) {
    free(p);
  }
}
