// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tells the leak sanitizer of what fontconfig makes once for a process and
/// keeps: it does not grow with the windows that are opened.  For the one
/// source file of a test.

#ifndef TESTS_WINDOW_FONTCONFIG_LEAKS_H
#define TESTS_WINDOW_FONTCONFIG_LEAKS_H

#if defined(__SANITIZE_ADDRESS__)
// NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl*): the sanitizer's name
const char*
__lsan_default_suppressions(void);

const char*
__lsan_default_suppressions(void)
{
  return "leak:libfontconfig";
}
// NOLINTEND(bugprone-reserved-identifier,cert-dcl*)
#endif

#endif // TESTS_WINDOW_FONTCONFIG_LEAKS_H
