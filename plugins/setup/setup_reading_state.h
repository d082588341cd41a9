// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A setup while it is read: private to setup_chain.c and setup_sections.c

#ifndef PLUGINS_SETUP_SETUP_READING_STATE_H
#define PLUGINS_SETUP_SETUP_READING_STATE_H

#include "setup_chain.h"

#include <sys/stat.h>

/// A file being read, and the file whose `from` named it
typedef struct setup_reading {
  const struct setup_reading* parent;
  const char*                 path;
  struct stat                 status;
  const setup_parts*          parts;
  setup_chain                 base; ///< Empty without `from`
  uint32_t                    from_line;
  uint32_t                    align_line;
  setup_chain                 now;
  uint32_t                    current; ///< Stage of `now` in this section
  uint32_t                    n_seen;  ///< Sections so far
  uint32_t*  seen_line; ///< By stage of `now`: line of its section, or 0
  uint32_t** set_line;  ///< By stage and control: line of its value, or 0
} setup_reading;

// setup_chain.c

/// Takes `from`: reads the file that it names, and all its stages
bool
setup_reading_base(setup_reading* r,
                   uint32_t       line,
                   const char*    name,
                   failure*       f);

// setup_sections.c

/// Inserts a stage at a place, its controls as in `values` or at their
/// defaults, with the notes on it: not mentioned so far.  No stage comes twice,
/// so there is room for all parts.  False without memory.
bool
setup_reading_insert(setup_reading* r,
                     uint32_t       place,
                     uint32_t       part,
                     const float*   values);

/// Take the lines of a file, for setup_lines_read(): `user` is the
/// setup_reading
bool
setup_reading_section(void* user, uint32_t line, const char* name, failure* f);

bool
setup_reading_value(void*       user,
                    uint32_t    line,
                    const char* symbol,
                    const char* value,
                    failure*    f);

#endif // PLUGINS_SETUP_SETUP_READING_STATE_H
