// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Checks text for LV2, JSON and HTML

#ifndef PLUGINS_TEXT_UTF8_H
#define PLUGINS_TEXT_UTF8_H

#include <stddef.h>
#include <stdint.h>

/// Returns the bytes of the character at `text`, 0 if it is not UTF-8 (RFC
/// 3629, section 4).  The terminating 0 counts as a character of one byte.
size_t
utf8_length(const char* text);

/// Returns the code point of the character at `text`, whose utf8_length() this
/// is
uint32_t
utf8_code(const char* text, size_t length);

#endif // PLUGINS_TEXT_UTF8_H
