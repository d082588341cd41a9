// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The LV2 features this host hands to plugins

#ifndef PRESETS_DEMO_RENDER_HOST_HOST_FEATURES_H
#define PRESETS_DEMO_RENDER_HOST_HOST_FEATURES_H

#include <lv2/core/lv2.h>
#include <lv2/options/options.h>
#include <lv2/urid/urid.h>

#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>

#define HOST_N_FEATURES 5

/// Points into itself: do not copy
typedef struct {
  pthread_mutex_t    lock; ///< Plugins may map from any thread
  char**             uris; ///< URID n is uris[n - 1]
  uint32_t           n_uris;
  int32_t            max_block, min_block;
  LV2_Options_Option options[4];
  LV2_URID_Map       map;
  LV2_URID_Unmap     unmap;
  LV2_Feature        features[HOST_N_FEATURES];
  const LV2_Feature* list[HOST_N_FEATURES + 1];
} host_features;

/// Offers the features, with a bound for the block length
void
host_features_init(host_features* h, uint32_t block_frames);

void
host_features_clear(host_features* h);

/// Returns the list that instantiate() takes, ended by NULL
const LV2_Feature* const*
host_features_list(const host_features* h);

bool
host_features_offer(const host_features* h, const char* uri);

#endif // PRESETS_DEMO_RENDER_HOST_HOST_FEATURES_H
