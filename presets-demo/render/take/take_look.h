// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Looks at a recording before it is played: what is to be said, what is taken
/// out, and the gain in front of the stages.
///
/// One pass is enough for most takes.  Those with something to take out, or
/// beyond the range of the meter of alignment, are measured again.

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_LOOK_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_LOOK_H

#include "presets-demo/render/audio/audio_mend.h"
#include "presets-demo/render/host/host.h"
#include "presets-demo/render/setup/setup.h"
#include "take_words.h"

#include <signal.h>

typedef struct take_look take_look;

/// What a program does with a take
typedef struct {
  take_lines lines;
  audio_mend mend;
  double     align_db; ///< Gain in front of the stages; 0 without
  bool       has_playing;
} take_result;

/// Prepares to look at a file at its own rate; `is_aligned` asks for the gain.
/// A file that is no ordinary one (a pipe) can be read only once: it is not
/// looked at, and not aligned.  The arguments must outlive it.  Call from one
/// thread.
take_look*
take_look_new(host*            h,
              const catalogue* parts,
              const setup*     s,
              const char*      file,
              bool             is_aligned,
              failure*         f);

void
take_look_free(take_look* l);

/// Reads the file once.  May run in any thread.  Returns false with a failure,
/// an empty one if stopped.
bool
take_look_run(take_look* l, const volatile sig_atomic_t* stop, failure* f);

/// Returns whether nothing is left to be read
bool
take_look_is_done(const take_look* l);

/// Prepares another pass.  Call from one thread, like take_look_new().
bool
take_look_again(take_look* l, failure* f);

/// Reads it as often as needed; for one thread
bool
take_look_all(take_look* l, const volatile sig_atomic_t* stop, failure* f);

const take_result*
take_look_result(const take_look* l);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_LOOK_H
