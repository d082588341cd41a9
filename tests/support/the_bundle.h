// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The built bundle, loaded once for all tests of a group: its set-up and
/// teardown

#ifndef TESTS_SUPPORT_THE_BUNDLE_H
#define TESTS_SUPPORT_THE_BUNDLE_H

#include "bundle.h"

static bundle the_bundle;

static inline int
load(void** state)
{
  (void)state;
  the_bundle = bundle_load();
  return 0;
}

static inline int
unload(void** state)
{
  (void)state;
  bundle_free(&the_bundle);
  return 0;
}

#endif // TESTS_SUPPORT_THE_BUNDLE_H
