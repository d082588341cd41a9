// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Text as LV2, JSON and HTML want it

#ifndef PRESETS_DEMO_RENDER_PROGRAM_UTF8_H
#define PRESETS_DEMO_RENDER_PROGRAM_UTF8_H

#include <stddef.h>

/// Bytes of the character at `text`, 0 if there is no UTF-8 (RFC 3629, section
/// 4).  The terminating 0 counts as a character of one byte.
size_t
utf8_length(const char* text);

#endif // PRESETS_DEMO_RENDER_PROGRAM_UTF8_H
