// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How far a control moves by one click of a wheel or one press of an arrow

#ifndef TTL_STEPS_H
#define TTL_STEPS_H

#include "common/core/params.h"

#include <stdint.h>

/// Returns the points, both ends included, into which LV2's port-props
/// "rangeSteps" divide the range of a number, evenly on its own scale
uint32_t
steps_points(const param_info* p);

#endif // TTL_STEPS_H
