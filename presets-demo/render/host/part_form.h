// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reads the ports of one LV2 plugin

#ifndef PRESETS_DEMO_RENDER_HOST_PART_FORM_H
#define PRESETS_DEMO_RENDER_HOST_PART_FORM_H

#include "catalogue.h"

/// Returns false if the plugin is not valid LV2
bool
part_form_read(part_form* form, LilvWorld* world, const LilvPlugin* plugin);

void
part_form_clear(part_form* form);

#endif // PRESETS_DEMO_RENDER_HOST_PART_FORM_H
