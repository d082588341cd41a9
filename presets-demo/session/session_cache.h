// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The cache as the program handles it: where it is, what is said of it, and
/// what is removed from it

#ifndef PRESETS_DEMO_SESSION_SESSION_CACHE_H
#define PRESETS_DEMO_SESSION_SESSION_CACHE_H

#include "presets-demo/session/mix/mixdown.h"
#include "session_options.h"

/// Finds the folder that the command line or the session names, and makes it if
/// it is not there; NULL if none is named.  Returns false with a failure, also
/// if the command line needs one.
bool
session_cache_open(const char**           folder,
                   const session_options* o,
                   const session*         s,
                   failure*               f);

/// Marks the tracks that the command line names, one bool for each; NULL if it
/// names none; free() them.  Returns false with a failure.
bool
session_cache_choose(bool**                 chosen,
                     const session_options* o,
                     const session*         s,
                     failure*               f);

/// Says which files were no good
void
session_cache_warn_of_files(const mixdown* m, const session* s);

/// Says why tracks were not kept, in one line
void
session_cache_warn_of_room(const mixdown* m,
                           const session* s,
                           const char*    folder);

/// Returns false with a failure if a chosen track is not in the cache
bool
session_cache_check(const mixdown* m,
                    const session* s,
                    const bool*    chosen,
                    failure*       f);

/// Says where the chosen tracks are
void
session_cache_print(FILE*          out,
                    const mixdown* m,
                    const session* s,
                    const bool*    chosen,
                    const char*    folder);

/// Removes what was not used for longest, as far as the session says
void
session_cache_clean(const mixdown* m, const session* s, const char* folder);

#endif // PRESETS_DEMO_SESSION_SESSION_CACHE_H
