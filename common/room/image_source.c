// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "image_source.h"

#include <stdlib.h>

/// Where images are on one axis, seen from the microphone
typedef struct {
  double source, microphone, size;
} axis;

/// The image of cell `i`: even cells hold the source, odd ones its mirror
/// image, and a cell is |i| walls away
static double
offset_m(axis a, int i)
{
  const double at = i % 2 ? a.size - a.source : a.source;
  return i * a.size + at - a.microphone;
}

/// Returns a cell beyond which none can be within `reach_m`
static int
last_cell(axis a, double reach_m)
{
  return (int)(reach_m / a.size) + 1;
}

uint32_t
image_sources(point_m       room,
              point_m       source,
              point_m       microphone,
              double        longest_m,
              image_source* images,
              uint32_t      most)
{
  const axis   x     = {source.x, microphone.x, room.x};
  const axis   y     = {source.y, microphone.y, room.y};
  const axis   z     = {source.z, microphone.z, room.z};
  const double reach = longest_m * longest_m;
  uint32_t     n     = 0;

  const int last_x = last_cell(x, longest_m);
  for (int i = -last_x; i <= last_x; ++i) {
    const double dx     = offset_m(x, i);
    const double left_y = reach - dx * dx;
    const int    last_y = left_y < 0.0 ? -1 : last_cell(y, sqrt(left_y));
    for (int j = -last_y; j <= last_y; ++j) {
      const double dy     = offset_m(y, j);
      const double left_z = left_y - dy * dy;
      const int    last_z = left_z < 0.0 ? -1 : last_cell(z, sqrt(left_z));
      for (int k = -last_z; k <= last_z; ++k) {
        const double dz   = offset_m(z, k);
        const double left = left_z - dz * dz;
        if (left >= 0.0) {
          if (n < most) {
            images[n].path_m = (float)sqrt(reach - left);
            images[n].order  = (uint32_t)(abs(i) + abs(j) + abs(k));
          }
          ++n;
        }
      }
    }
  }
  return n;
}
