// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes one stage's values into a setup file, as its author would: comments,
/// other sections and the order of lines stay, and so does every line whose
/// value has not changed.
///
/// In a file with `from` a number is written relative to its base: by the
/// operation that its line has, or as `base + x`; but a line with a plain
/// number, which does not follow the base, keeps one.  Values of the track
/// (setup_part_is_of_track()) are neither written nor changed.

#ifndef PLUGINS_SETUP_SETUP_SAVE_H
#define PLUGINS_SETUP_SETUP_SAVE_H

#include "setup_part.h"

/// Replaces the file as a whole, or makes it.  The new file is read before it
/// takes the place of the old one: its values have the same bits.  Returns
/// false with a failure "file:line: ..." or "file: ..."; then nothing has
/// changed.
bool
setup_save(const char*        path,
           const setup_parts* parts,
           uint32_t           part,
           const float*       values,
           failure*           f);

#endif // PLUGINS_SETUP_SETUP_SAVE_H
