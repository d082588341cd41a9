// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loads setups for the parts of a bundle.  Each test program works in a folder
/// of its own.

#ifndef TESTS_SUPPORT_SETUP_CHECK_H
#define TESTS_SUPPORT_SETUP_CHECK_H

#include "render_check.h"

#include "presets-demo/render/setup/setup.h"

static catalogue parts;

static inline int
enter_with_parts(const char* bundle, void** state)
{
  failure f = {""};
  if (!catalogue_open(&parts, bundle, &f)) {
    print_error("%s\n", f.text);
    return -1;
  }
  return enter_folder(state);
}

/// Parts of render-fixture/; their ranges, labels and units are in fixture.ttl
static inline int
enter_with_fixture(void** state)
{
  return enter_with_parts(FIXTURE_DIR, state);
}

/// Opens the plugins
static inline int
enter_with_bundle(void** state)
{
  return enter_with_parts(BUNDLE_DIR, state);
}

static inline int
leave_parts(void** state)
{
  catalogue_close(&parts);
  return leave_folder(state);
}

#endif // TESTS_SUPPORT_SETUP_CHECK_H
