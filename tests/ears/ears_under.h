// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What comes out below 20 Hz, stage by stage

#ifndef TESTS_EARS_EARS_UNDER_H
#define TESTS_EARS_EARS_UNDER_H

#include "ears_rig.h"

/// Print each stage alone, at its defaults and driven to the ends, on tone
/// pairs, an asymmetrical wave and takes behind di-cleanup; then each setup
/// stage by stage
bool
ears_print_under(const ears_rig*   r,
                 const ears_sound* takes,
                 const char**      names,
                 size_t            n,
                 failure*          f);

#endif // TESTS_EARS_EARS_UNDER_H
