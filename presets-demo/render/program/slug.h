// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A name as a piece of file names and of ids: what a user calls something may
/// hold slashes, spaces or quotes

#ifndef PRESETS_DEMO_RENDER_PROGRAM_SLUG_H
#define PRESETS_DEMO_RENDER_PROGRAM_SLUG_H

/// Bytes of the longest: a file's name has room for 255
#define SLUG_MAX 120U

/// Letters, digits and . _ + stay, whatever their script; all that stands
/// between them becomes one '-', nothing at the ends.  `empty` if nothing is
/// left.  `name` is UTF-8.  To be freed.
char*
slug_new(const char* name, const char* empty);

#endif // PRESETS_DEMO_RENDER_PROGRAM_SLUG_H
