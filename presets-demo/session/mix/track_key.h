// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The key of a rendered track: a digest of all that its sound and its figures
/// are made from.  Names, paths and times are not in it, nor what comes behind
/// the setup: gain, pan, send levels.

#ifndef PRESETS_DEMO_SESSION_MIX_TRACK_KEY_H
#define PRESETS_DEMO_SESSION_MIX_TRACK_KEY_H

#include "lane.h"

/// What all tracks of a session share
typedef struct {
  digest_value program; ///< By track_key_program()
  double       rate_hz;
  uint64_t     n_total; ///< Frames of the piece
  uint64_t     n_kept;  ///< Frames of a track's file
} track_key_base;

/// Makes the digest of what renders: this program's file, the versions of the
/// libraries that read, convert and compute, and the files of the bundle.
/// Returns false with a failure, an empty one if stopped.
bool
track_key_program(digest_value*                to,
                  const catalogue*             parts,
                  const volatile sig_atomic_t* stop,
                  failure*                     f);

/// Makes the digest of the bytes of a track's recording, read now
bool
track_key_recording(digest_value*                to,
                    const lane*                  l,
                    const volatile sig_atomic_t* stop,
                    failure*                     f);

/// Returns the key of a track whose excerpt begins at `listen_s`
digest_value
track_key(const track_key_base* base,
          digest_value          recording,
          const lane*           l,
          float                 listen_s);

#endif // PRESETS_DEMO_SESSION_MIX_TRACK_KEY_H
