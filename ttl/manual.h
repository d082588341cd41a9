// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#ifndef TTL_MANUAL_H
#define TTL_MANUAL_H

/// Writes the parts of manual.md that follow from the tables of controls, each
/// between its two marks, to standard output
void
manual_write(void);

#endif // TTL_MANUAL_H
