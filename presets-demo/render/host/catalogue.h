// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The contents of an LV2 bundle: its parts, their forms, and the ports of
/// each.
///
/// A setup names a part by its stem, such as `tube-stage`: the last piece of
/// the URI.  A part has one or two forms, one LV2 plugin each: the plain URI,
/// and the same with "-stereo".  Names, ranges, labels and units all come from
/// the Turtle of the bundle through lilv.
///
/// Not thread-safe while opening; read-only afterwards.

#ifndef PRESETS_DEMO_RENDER_HOST_CATALOGUE_H
#define PRESETS_DEMO_RENDER_HOST_CATALOGUE_H

#include "plugins/setup/setup_part.h"

#include <lilv/lilv.h>

#include <stdbool.h>
#include <stdint.h>

typedef struct {
  uint32_t index; ///< Port index
  char*    symbol;
} control_output;

#define PART_MAX_CHANNELS 2U

/// One LV2 plugin
typedef struct {
  const LilvPlugin* plugin;
  control_input*    controls; ///< But for those that no host should show
  uint32_t          n_controls;
  control_output*   meters;
  uint32_t          n_meters;
  uint32_t          n_in, n_out; ///< Audio ports; may exceed PART_MAX_CHANNELS
  uint32_t          in[PART_MAX_CHANNELS], out[PART_MAX_CHANNELS];
  bool              has_latency;
  uint32_t          latency_port;
} part_form;

#define PART_MAX_FORMS 2U

typedef struct {
  char*     stem;
  part_form forms[PART_MAX_FORMS];
  uint32_t  n_forms;
} part;

/// Values of the controls of a part, in the order of forms[0].controls
typedef struct {
  const part* part;
  float*      values;
} part_settings;

typedef struct {
  LilvWorld* world;
  part*      parts;
  uint32_t   n_parts;
} catalogue;

/// Loads the bundle in a folder, or with NULL the plugins of the LV2 path whose
/// URI starts with "urn:dustcap:".  Returns false if there are none or one is
/// broken.
bool
catalogue_open(catalogue* c, const char* bundle_folder, failure* f);

/// Loads the Turtle of a bundle into a world; returns false with a failure if
/// the folder holds none
bool
catalogue_load_bundle(LilvWorld* world, const char* folder, failure* f);

/// Returns the folder for catalogue_open(): the one asked for, else the bundle
/// that was built or installed with this program, or NULL if there is none.
/// Valid until the next call.
const char*
catalogue_folder(const char* asked);

/// Describes catalogue_folder() in the help of a program's option
#define CATALOGUE_FOLDER_HELP                                           \
  "folder of the plugins; default: those built or installed with this " \
  "program, or else those on the LV2 path"

void
catalogue_close(catalogue* c);

/// Calls `take` for each file of the parts, in an order that does not depend on
/// where they lie: the libraries, and the Turtle that is read.  Returns false
/// as soon as it does.
bool
catalogue_files(const catalogue* c,
                bool (*take)(void* user, const char* path),
                void* user);

/// Returns NULL if there is no such part
const part*
catalogue_part(const catalogue* c, const char* stem);

/// Returns the part as setups see it; it must outlive that
setup_part
part_names(const part* p);

/// Returns the position in forms[0].controls, or -1
int
part_control(const part* p, const char* symbol);

/// Reports an unknown name as spelling_fail() does
bool
part_unknown_control(const part* p, const char* symbol, failure* f);

#endif // PRESETS_DEMO_RENDER_HOST_CATALOGUE_H
