// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Included in front of every file of a release.  hypot() of glibc 2.35 differs
/// from the one before only in that it leaves errno alone.  With the older one,
/// all that is released runs on glibc 2.34.

#if defined(__x86_64__)
__asm__(".symver hypot,hypot@GLIBC_2.2.5");
#elif defined(__aarch64__)
__asm__(".symver hypot,hypot@GLIBC_2.17");
#endif
