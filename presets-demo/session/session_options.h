// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The command line of dustcap-session

#ifndef PRESETS_DEMO_SESSION_SESSION_OPTIONS_H
#define PRESETS_DEMO_SESSION_SESSION_OPTIONS_H

#include "presets-demo/render/program/options.h"

#define PROGRAM "dustcap-session"

typedef struct {
  const char*   session;
  const char*   out;    ///< NULL with `only`
  const char*   bundle; ///< NULL: see catalogue_folder()
  const char*   cache;  ///< NULL: as the session says
  options_names only;   ///< Tracks to render alone
  uint32_t      n_threads;
  bool          json;
  bool          is_quiet;
  bool          is_watching;
  bool          is_assembled;
} session_options;

extern const options_program session_program;

options_result
session_options_parse(session_options* o, int argc, char** argv, failure* f);

#endif // PRESETS_DEMO_SESSION_SESSION_OPTIONS_H
