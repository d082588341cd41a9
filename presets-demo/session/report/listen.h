// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What can be heard in the report: the mix and the tracks, each in versions
/// from dry to finished, in step to the sample and all at the same loudness.
///
/// One loudness holds for the whole page: -23 LUFS (the target of EBU R 128),
/// or lower if a version would then exceed -1 dBTP (its maximum true peak).

#ifndef PRESETS_DEMO_SESSION_REPORT_LISTEN_H
#define PRESETS_DEMO_SESSION_REPORT_LISTEN_H

#include "presets-demo/session/listen/listen_loudness.h"
#include "presets-demo/session/listen/opus_out.h"
#include "presets-demo/session/mix/mixdown.h"

#define LISTEN_TARGET_LUFS      (-23.0)
#define LISTEN_MAX_TRUE_PEAK_DB (-1.0)

typedef struct {
  const char*        name; ///< "dry" or that of the stage
  const listen_clip* clip;
  listen_loudness    loudness; ///< Before its gain
  double             gain_db;
  opus_bytes         sound;
} listen_version;

/// The mix, or a track
typedef struct {
  const lane*     lane;
  double          from_s, length_s;
  listen_version* versions; ///< From dry to finished
  uint32_t        n_versions;
} listen_thing;

typedef struct {
  listen_thing* things; ///< The mix, if it can be heard, then tracks
  uint32_t      n_things;
  uint32_t      n_left_out; ///< Tracks with a setup for which there is no room
  double        lufs;       ///< Of all versions
  bool          has_failed; ///< libsndfile writes no Opus
  listen_clip   sum;        ///< Of the dry takes
  double        rate_hz;
} listen;

/// Makes the sound of a mixdown that has been played, in `n_threads`
listen
listen_make(const mixdown* m, uint32_t n_threads);

void
listen_clear(listen* l);

#endif // PRESETS_DEMO_SESSION_REPORT_LISTEN_H
