// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The stages as setups name them, from the tables that the Turtle was written
/// from: controls in the order of shell_param().

#ifndef PLUGINS_WINDOW_SETUP_TABLE_H
#define PLUGINS_WINDOW_SETUP_TABLE_H

#include "plugins/setup/setup_part.h"

typedef struct setup_table setup_table;

/// NULL without memory
setup_table*
setup_table_new(void);

void
setup_table_free(setup_table* t);

/// All stages, in the order of a track
const setup_parts*
setup_table_parts(const setup_table* t);

#endif // PLUGINS_WINDOW_SETUP_TABLE_H
