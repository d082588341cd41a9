// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "compare.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/path.h"

#include <math.h>

#define MARK "-dry"

bool
compare_find(const joint_loudness* l,
             uint32_t              n_stages,
             double                front_db,
             compare_gains*        g,
             failure*              f)
{
  const double dry_lufs     = joint_loudness_lufs(l, 0);
  const double treated_lufs = joint_loudness_lufs(l, n_stages);
  if (!isfinite(dry_lufs) || !isfinite(treated_lufs)) {
    return fail_with(f,
                     "--compare: the %s has no loudness (it is silent, or "
                     "shorter than 400 ms)",
                     isfinite(dry_lufs) ? "output" : "input");
  }
  const double match_db = treated_lufs - dry_lufs;
  const double peak_db  = fmax(joint_loudness_true_peak_db(l, 0) + match_db,
                               joint_loudness_true_peak_db(l, n_stages));
  const double down_db  = fmin(COMPARE_MAX_TRUE_PEAK_DB - peak_db, 0.0);
  *g                    = (compare_gains){.lufs       = treated_lufs + down_db,
                                          .dry_db     = front_db + match_db + down_db,
                                          .treated_db = down_db};
  return true;
}

char*
compare_dry_path(const char* out)
{
  const char* const ending = path_ending(out);
  return alloc_print("%.*s" MARK "%s", (int)(ending - out), out, ending);
}

/// Loads a block of the recording, or silence after its end
static bool
load(audio_in* in, float* const* x, float gain, bool* is_over, failure* f)
{
  const int64_t got = *is_over ? 0 : audio_in_read(in, x, HOST_BLOCK_FRAMES, f);
  if (got < 0) {
    return false;
  }
  *is_over = got < HOST_BLOCK_FRAMES;
  for (uint32_t k = 0; k < AUDIO_MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; i < HOST_BLOCK_FRAMES; ++i) {
      x[k][i] = i < (uint64_t)got ? gain * x[k][i] : 0.0F;
    }
  }
  return true;
}

bool
compare_write_dry(const char*                  file,
                  const audio_mend*            mend,
                  double                       rate_hz,
                  double                       gain_db,
                  uint64_t                     n_frames,
                  audio_out*                   to,
                  const volatile sig_atomic_t* stop,
                  failure*                     f)
{
  float        memory[AUDIO_MAX_CHANNELS][HOST_BLOCK_FRAMES];
  float* const x[]     = {memory[0], memory[1]};
  const float  gain    = (float)pow(10.0, gain_db / 20.0);
  audio_in*    in      = audio_in_open_mended(file, rate_hz, mend, f);
  bool         is_over = false;
  bool         ok      = in != NULL;
  while (ok && n_frames) {
    const uint32_t now =
      n_frames < HOST_BLOCK_FRAMES ? (uint32_t)n_frames : HOST_BLOCK_FRAMES;
    ok = (!*stop || fail_with(f, "%s", "")) && load(in, x, gain, &is_over, f) &&
         audio_out_write(to, (const float* const*)x, now, f);
    n_frames -= now;
  }
  audio_in_close(in);
  return ok;
}
