// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The dry recording beside the treated one, at the same loudness: louder
/// sounds better, so only at equal loudness can ears judge the treatment.
///
/// Gains are constant over the file.  The dry one gets the difference of both
/// integrated loudnesses; if either would then exceed -1 dBTP (the maximum
/// permitted true peak level of EBU R 128), both are lowered alike.

#ifndef PRESETS_DEMO_RENDER_MEASURE_COMPARE_H
#define PRESETS_DEMO_RENDER_MEASURE_COMPARE_H

#include "joint_loudness.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/audio_out.h"

#include <signal.h>

#define COMPARE_MAX_TRUE_PEAK_DB (-1.0)

typedef struct {
  double lufs;       ///< Of both files
  double dry_db;     ///< Gain of the recording
  double treated_db; ///< Gain of the treated signal, 0 or below
} compare_gains;

/// Computes the gains from the loudness `l` of a chain of `n_stages`, before
/// which the recording had a gain of `front_db`.  Returns false if there is
/// nothing to compare.
bool
compare_find(const joint_loudness* l,
             uint32_t              n_stages,
             double                front_db,
             compare_gains*        g,
             failure*              f);

/// Returns OUT-dry.EXT for OUT.EXT; free() it
char*
compare_dry_path(const char* out);

/// Writes `file`, mended, with a gain, `n_frames` long, silence after its end.
/// Returns false with a failure, an empty one if stopped; `to` is the caller's
/// either way.
bool
compare_write_dry(const char*                  file,
                  const audio_mend*            mend,
                  double                       rate_hz,
                  double                       gain_db,
                  uint64_t                     n_frames,
                  audio_out*                   to,
                  const volatile sig_atomic_t* stop,
                  failure*                     f);

#endif // PRESETS_DEMO_RENDER_MEASURE_COMPARE_H
