// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#ifndef TTL_MANUAL_H
#define TTL_MANUAL_H

/// The README's tables of controls, to standard output
void
manual_write(void);

#endif // TTL_MANUAL_H
