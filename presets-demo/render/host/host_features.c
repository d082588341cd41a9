// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "host_features.h"

#include "presets-demo/render/program/alloc.h"

#include <lv2/atom/atom.h>
#include <lv2/buf-size/buf-size.h>

#include <stdlib.h>
#include <string.h>

static LV2_URID
map_uri(LV2_URID_Map_Handle handle, const char* uri)
{
  host_features* const h = handle;
  (void)pthread_mutex_lock(&h->lock);
  uint32_t i = 0;
  while (i < h->n_uris && strcmp(h->uris[i], uri) != 0) {
    ++i;
  }
  if (i == h->n_uris) {
    h->uris              = alloc_grow(h->uris, h->n_uris + 1, sizeof(*h->uris));
    h->uris[h->n_uris++] = alloc_copy(uri);
  }
  (void)pthread_mutex_unlock(&h->lock);
  return i + 1;
}

static const char*
unmap_urid(LV2_URID_Unmap_Handle handle, LV2_URID urid)
{
  host_features* const h = handle;
  (void)pthread_mutex_lock(&h->lock);
  const char* const uri = urid && urid <= h->n_uris ? h->uris[urid - 1] : NULL;
  (void)pthread_mutex_unlock(&h->lock);
  return uri;
}

static void
set_option(host_features* h, uint32_t i, const char* key, const int32_t* value)
{
  h->options[i] = (LV2_Options_Option){
    .context = LV2_OPTIONS_INSTANCE,
    .key     = map_uri(h, key),
    .size    = sizeof(*value),
    .type    = map_uri(h, LV2_ATOM__Int),
    .value   = value,
  };
}

void
host_features_init(host_features* h, uint32_t block_frames)
{
  *h = (host_features){
    .max_block = (int32_t)block_frames,
    .map       = {h, map_uri},
    .unmap     = {h, unmap_urid},
    .features  = {{LV2_URID__map, &h->map},
                  {LV2_URID__unmap, &h->unmap},
                  {LV2_OPTIONS__options, h->options},
                  {LV2_BUF_SIZE__boundedBlockLength, NULL},
                  {LV2_CORE__inPlaceBroken, NULL}}, // Buffers are never shared
  };
  (void)pthread_mutex_init(&h->lock, NULL);
  set_option(h, 0, LV2_BUF_SIZE__minBlockLength, &h->min_block);
  set_option(h, 1, LV2_BUF_SIZE__maxBlockLength, &h->max_block);
  set_option(h, 2, LV2_BUF_SIZE__nominalBlockLength, &h->max_block);
  for (uint32_t i = 0; i < HOST_N_FEATURES; ++i) {
    h->list[i] = &h->features[i];
  }
}

void
host_features_clear(host_features* h)
{
  for (uint32_t i = 0; i < h->n_uris; ++i) {
    free(h->uris[i]);
  }
  free(h->uris);
  (void)pthread_mutex_destroy(&h->lock);
}

const LV2_Feature* const*
host_features_list(const host_features* h)
{
  return h->list;
}

bool
host_features_offer(const host_features* h, const char* uri)
{
  for (uint32_t i = 0; i < HOST_N_FEATURES; ++i) {
    if (!strcmp(h->features[i].URI, uri)) {
      return true;
    }
  }
  return false;
}
