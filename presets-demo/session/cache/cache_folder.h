// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The folder of rendered tracks (track_file.h), each under its key.  Any
/// number of runs may use one folder at once: a file appears under its name
/// when it is whole, and one that is removed stays readable to who has it open.

#ifndef PRESETS_DEMO_SESSION_CACHE_CACHE_FOLDER_H
#define PRESETS_DEMO_SESSION_CACHE_CACHE_FOLDER_H

#include "digest.h"

#define CACHE_ENDING ".dustcap-track"

/// Makes the folder if it is not there.  Returns false with a failure that does
/// not name it.
bool
cache_folder_make(const char* folder, failure* f);

/// Returns the path of the file with that key; free() it
char*
cache_folder_path(const char* folder, digest_value key);

/// Removes files of tracks, those first that were not used for longest, until
/// all that are left have at most so many bytes; and what runs left that were
/// killed.  Those with the keys `used` stay, whatever they take, and so does
/// all that is not the file of a track.
void
cache_folder_clean(const char*         folder,
                   const digest_value* used,
                   uint32_t            n_used,
                   double              most_bytes);

#endif // PRESETS_DEMO_SESSION_CACHE_CACHE_FOLDER_H
