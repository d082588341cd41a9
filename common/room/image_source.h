// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reflections in a rectangular room as mirror images of the source.
///
/// J. B. Allen, D. A. Berkley, "Image method for efficiently simulating
/// small-room acoustics", J. Acoust. Soc. Am. 65 (1979) 943.  On each axis the
/// images are at +-s + 2 n L; their sound has hit the two walls |n| times each,
/// that of the mirrored ones once less or more.  All walls are alike here, so
/// only the number of hits matters.  Real-time safe: the work grows with the
/// volume that `longest_m` encloses.

#ifndef COMMON_ROOM_IMAGE_SOURCE_H
#define COMMON_ROOM_IMAGE_SOURCE_H

#include "common/core/dsp.h"

/// In metres; a room reaches from 0 to its size
typedef struct {
  double x, y, z;
} point_m;

typedef struct {
  float    path_m; ///< From the image to the microphone
  uint32_t order;  ///< Number of walls hit; 0 is the source itself
} image_source;

/// Writes all images within `longest_m` of the microphone, in no order, at most
/// `most`.  Returns how many there are; those beyond `most` are not written.
uint32_t
image_sources(point_m       room,
              point_m       source,
              point_m       microphone,
              double        longest_m,
              image_source* images,
              uint32_t      most);

#endif // COMMON_ROOM_IMAGE_SOURCE_H
