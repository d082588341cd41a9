// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The setups that a stage's window can load: the shipped ones, then the
/// user's own, each by name.

#ifndef PLUGINS_WINDOW_SETUP_LIST_H
#define PLUGINS_WINDOW_SETUP_LIST_H

#include "setup_table.h"

#include "plugins/setup/setup_chain.h"

enum { SETUP_NAME = 48, SETUP_MOST = 256 };

typedef struct {
  char        name[SETUP_NAME]; ///< Of the file, without ".ini"
  char*       path;
  bool        is_own;
  setup_chain chain; ///< Empty if it cannot be read
  char*       fault; ///< Then why: one line
} setup_entry;

typedef struct {
  setup_entry* entries;
  uint32_t     n;
} setup_list;

/// Reads all setups with that stage, and the user's own that cannot be read.
/// Either folder may be NULL or absent.  False without memory: the list is
/// empty.
bool
setup_list_read(setup_list*        list,
                const char*        shipped,
                const char*        own,
                const setup_parts* parts,
                uint32_t           part);

void
setup_list_clear(setup_list* list);

/// Writes the name of a setup: that of its file, without folder and ".ini"
void
setup_list_name(const char* path, char name[SETUP_NAME]);

#endif // PLUGINS_WINDOW_SETUP_LIST_H
