// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "pack.h"

#include "presets-demo/render/program/alloc.h"

#include <string.h>

#define FIRST_ROOM 4096U

pack
pack_to_write(void)
{
  return (pack){.room = FIRST_ROOM, .bytes = alloc_new(FIRST_ROOM, 1)};
}

pack
pack_to_read(unsigned char* bytes, size_t n)
{
  return (pack){.bytes = bytes, .n = n, .is_reading = true};
}

static void
write_bytes(pack* p, const void* from, size_t n)
{
  while (p->n + n > p->room) {
    p->room *= 2;
    p->bytes = alloc_grow(p->bytes, p->room, 1);
  }
  memcpy(p->bytes + p->n, from, n);
  p->n += n;
}

static void
read_bytes(pack* p, void* to, size_t n)
{
  p->has_failed = p->has_failed || n > p->n - p->at;
  if (p->has_failed) {
    memset(to, 0, n);
    return;
  }
  memcpy(to, p->bytes + p->at, n);
  p->at += n;
}

/// Nothing for no bytes, which may be nowhere
static void
pass(pack* p, void* value, size_t n)
{
  if (n && value) {
    if (p->is_reading) {
      read_bytes(p, value, n);
    } else {
      write_bytes(p, value, n);
    }
  }
}

void
pack_count(pack* p, uint64_t* count)
{
  pass(p, count, sizeof(*count));
}

void
pack_small(pack* p, uint32_t* count)
{
  pass(p, count, sizeof(*count));
}

void
pack_numbers(pack* p, double* numbers, size_t n)
{
  pass(p, numbers, n * sizeof(*numbers));
}

void
pack_samples(pack* p, float* samples, size_t n)
{
  pass(p, samples, n * sizeof(*samples));
}

void
pack_text(pack* p, char* text, size_t size)
{
  uint32_t length = p->is_reading ? 0 : (uint32_t)strlen(text);
  pack_small(p, &length);
  p->has_failed = p->has_failed || length >= size;
  if (!p->has_failed) {
    pass(p, text, length);
  }
  if (p->is_reading) {
    text[p->has_failed ? 0 : length] = '\0';
  }
}

void*
pack_room(pack* p, void* there, size_t n, size_t size)
{
  if (!p->is_reading) {
    return there;
  }
  p->has_failed = p->has_failed || n > (p->n - p->at) / size;
  return n && !p->has_failed ? alloc_new(n, size) : NULL;
}

bool
pack_is_read(const pack* p)
{
  return !p->has_failed && p->at == p->n;
}
