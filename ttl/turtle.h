// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#ifndef TTL_TURTLE_H
#define TTL_TURTLE_H

/// Writes the manifest and one file per plugin into `folder`; on a file error
/// prints it and exits with status 1
void
turtle_write(const char* folder);

#endif // TTL_TURTLE_H
