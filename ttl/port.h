// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Turtle of one port, inside its plugin

#ifndef TTL_PORT_H
#define TTL_PORT_H

#include "common/core/params.h"
#include "ttl/writer/turtle_writer.h"

#include <stdint.h>

/// `group` is the URI of the group under whose name hosts show it
void
port_write_input(turtle_writer*    w,
                 uint32_t          index,
                 const char*       group,
                 uint32_t          priority,
                 const param_info* p);

void
port_write_output(turtle_writer*    w,
                  uint32_t          index,
                  const char*       group,
                  const meter_info* m);

/// Writes the `n` audio ports of one side, from `index`; grouped, so that every
/// host can tell left from right
void
port_write_audio(turtle_writer* w,
                 uint32_t       index,
                 const char*    uri,
                 const char*    side, // "in" or "out"
                 uint32_t       n);

#endif // TTL_PORT_H
