// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A room to clap in

#ifndef TESTS_SUPPORT_ROOM_RIG_H
#define TESTS_SUPPORT_ROOM_RIG_H

#include "promises.h"

#include "common/stages/room_send.h"

#define RATE_HZ 48000.0

enum { N = 96000 };

/// Response by output
static float response[2][N];

/// Records the response of both outputs to an impulse in left, right (0, 1) or
/// both (2)
static inline void
respond_at(rig* r, uint32_t input, uint32_t n)
{
  memset(response, 0, sizeof(response));
  if (input != 1) {
    response[0][0] = 1.0F;
  }
  if (input != 0) {
    response[1][0] = 1.0F;
  }
  stage_reset(&r->st);
  rig_play(r, response[0], response[1], n);
}

static inline void
respond(rig* r, uint32_t input)
{
  respond_at(r, input, N);
}

/// Opens a room with the whole band open, at the volume of the materials' room
static inline rig
open_room(double rate_hz)
{
  rig r = rig_open(&room_send_ops, rate_hz, 2, NULL);
  rig_set(&r, "volume_m3", ROOM_VOLUME_M3);
  rig_set(&r, "low_cut_hz", 20.0);
  rig_set(&r, "high_cut_hz", 16000.0);
  return r;
}

#endif // TESTS_SUPPORT_ROOM_RIG_H
