// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Turns a name, which may hold slashes, spaces or quotes, into a piece of file
/// names and ids

#ifndef PRESETS_DEMO_RENDER_PROGRAM_SLUG_H
#define PRESETS_DEMO_RENDER_PROGRAM_SLUG_H

/// Bytes of the longest: a file's name has room for 255
#define SLUG_MAX 120U

/// Returns the slug of a name in UTF-8, to be freed: letters and digits of any
/// script and . _ + stay, what lies between them becomes one '-', and what lies
/// around them is dropped.  If nothing stays, the slug is `empty`.
char*
slug_new(const char* name, const char* empty);

#endif // PRESETS_DEMO_RENDER_PROGRAM_SLUG_H
