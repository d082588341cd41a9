// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The keys of a session file and their values

#ifndef PRESETS_DEMO_SESSION_FILE_SESSION_KEYS_H
#define PRESETS_DEMO_SESSION_FILE_SESSION_KEYS_H

#include "session_file.h"

typedef enum {
  SECTION_TRACK,
  SECTION_SEND,
  SECTION_BUS,
  SECTION_OUTPUT,
} section_kind;

/// Sets all numbers of a section to their defaults; `target` is a session_strip
/// or a session_output
void
session_keys_default(section_kind kind, void* target);

/// Takes `key = value`; a path is relative to `folder`, which is a length of
/// the session's path.  `seen` has a bit for each key.  Returns false with a
/// failure that does not name the line.
bool
session_keys_take(section_kind kind,
                  void*        target,
                  uint32_t*    seen,
                  const char*  session_path,
                  uint32_t     line,
                  const char*  key,
                  const char*  value,
                  failure*     f);

#endif // PRESETS_DEMO_SESSION_FILE_SESSION_KEYS_H
