// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-session

#ifndef PRESETS_DEMO_SESSION_SESSION_OPTIONS_H
#define PRESETS_DEMO_SESSION_SESSION_OPTIONS_H

#include "presets-demo/render/program/failure.h"

#include <stdint.h>

typedef struct {
  const char* session;
  const char* out;
  const char* bundle; ///< NULL: wherever it is
  uint32_t    n_threads;
  bool        json;
  bool        is_quiet;
} session_options;

typedef enum {
  SESSION_GO,
  SESSION_DONE,  ///< Help or version was asked for, and printed
  SESSION_WRONG, ///< Not a command line; the failure says why
} session_parse;

session_parse
session_options_parse(session_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_SESSION_SESSION_OPTIONS_H
