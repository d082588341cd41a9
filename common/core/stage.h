// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The verbs that every stage has, and the runner that keeps its time grid.
///
/// A stage `x` in common/stages/ has controls `x_params`, perhaps meters
/// `x_meters`, a flat state `x`, and six functions:
///
///   bool x_init(x*, double rate_hz, uint32_t n_channels)
///     Prepares for a rate and 1 or 2 channels.  The only verb that may fail
///     or be slow; it must not allocate.  The state is zeroed before.
///   void x_set(x*, const x_params*)
///     Takes controls, all in range.  Cheap when nothing changed.  Audible
///     changes glide from the next grid line on.
///   void x_reset(x*)
///     Forgets the signal; keeps the controls and jumps to them.  Large memory
///     that `memory` below names is zero already.
///   void x_control(x*)
///     Takes a line of the control grid: moves what glides, renews
///     coefficients.
///   void x_process(x*, const float* const* in, float* const* out, uint32_t n)
///     Processes n frames, 1 to CONTROL_FRAMES, never across a grid line.
///     out[k] may be in[k] (other overlaps do not occur; the shell copies its
///     inputs).
///   uint32_t x_latency_frames(const x*)
///     Depends only on the rate and on controls such as `quality`.
///   void x_meter(const x*, x_meters*)
///     Writes the meters, if any, as at the end of the last process().
///
/// All but init are real-time safe: no heap, lock, file or system call, and a
/// run time that does not depend on the signal.  Inputs are finite and within
/// +-STAGE_INPUT_LIMIT (the shell sees to it).
///
/// A tail ends: once STAGE_MUTE_S have passed without input and below
/// STAGE_QUIET, the output is exactly 0, until a frame rises above that again.
/// After STAGE_REST_S with input and output exactly 0 the stage stands still,
/// its grid too, as it does after stage_reset(); the first frame that is not 0
/// finds it as stage_reset() leaves it.  So what it plays does not depend on
/// what it played before, nor on the silence in between.  What must be cleared
/// for that is cleared from STAGE_STOP_S on, a piece per grid line.

/// Because of the grid the output cannot depend on how a signal was cut into
/// blocks, as long as process() itself works frame by frame.

#ifndef COMMON_CORE_STAGE_H
#define COMMON_CORE_STAGE_H

#include "clearing.h"
#include "dsp.h"
#include "params.h"

#include <stddef.h>

#define STAGE_INPUT_LIMIT 1000.0f // +60 dBFS

#define STAGE_QUIET  1e-7f // -140 dBFS
#define STAGE_MUTE_S 0.05  // A whole period at 20 Hz
#define STAGE_STOP_S 2.8
#define STAGE_REST_S 3.0

/// Alignment of a state's memory, for the vectors in it.  What malloc() gives
/// may have less (8 on 32-bit ARM).
#define STAGE_ALIGNMENT 16

/// A stage with its types erased
typedef struct {
  size_t            size; ///< Size of the state, in bytes
  const param_info* params;
  uint32_t          n_params;
  const meter_info* meters;
  uint32_t          n_meters;

  bool (*init)(void* s, double rate_hz, uint32_t n_channels);
  void (*set)(void* s, const float* values) NONBLOCKING;
  void (*reset)(void* s) NONBLOCKING;
  void (*control)(void* s) NONBLOCKING;
  void (*process)(void*               s,
                  const float* const* in,
                  float* const*       out,
                  uint32_t            n) NONBLOCKING;
  uint32_t (*latency_frames)(const void* s) NONBLOCKING;
  void (*meter)(const void* s,
                float*      values) NONBLOCKING; ///< NULL without meters

  /// Large memory that holds nothing but signal, such as delay lines, which
  /// takes too long to clear at once.  NULL: none.
  memory_parts memory;
  /// Does a part of what reset() would have to compute after a change of
  /// controls; false if all is done.  NULL: reset() is short enough.
  bool (*prepare)(void* s) NONBLOCKING;
  /// Restarts what a meter gathers over takes, which a rest keeps.  NULL: none
  /// does.
  void (*forget)(void* s) NONBLOCKING;
} stage_ops;

typedef enum {
  STAGE_STANDS, ///< As new, until the first frame that is not 0
  STAGE_PLAYS,
  STAGE_CLEARS, ///< Stopped: memory is being cleared
} stage_mode;

/// For `mute_lines`, where a tail is measured below STAGE_QUIET
#define STAGE_NEVER_MUTES UINT32_MAX

/// A stage on its grid.  Zero the state, then stage_init().
typedef struct {
  const stage_ops* ops;
  void*            state;
  uint32_t         n_channels;
  uint32_t         phase;    ///< Frames since the last grid line
  bool             is_heard; ///< False: its output counts as 0 (a bypass)

  stage_mode mode;
  bool       is_stale; ///< Controls have changed since it stands
  bool       is_muted; ///< By the end of a tail

  uint32_t mute_lines; ///< Until a tail ends, or STAGE_NEVER_MUTES
  uint32_t stop_lines, rest_lines;
  uint32_t quiet_lines, zero_lines; ///< Lines below STAGE_QUIET, and of zeros
  bool     is_loud, is_nonzero;     ///< In the present line, so far

  clearing clears; ///< While it is STAGE_CLEARS
} stage;

/// Binds, initialises, takes the defaults and resets.  False if the rate is
/// outside DSP_MIN/MAX_RATE_HZ.
bool
stage_init(stage*           st,
           const stage_ops* ops,
           void*            state,
           double           rate_hz,
           uint32_t         n_channels);

/// Takes `ops->n_params` values, all in range, in row order
void
stage_set(stage* st, const float* values);

/// Forgets all but the controls and jumps to them.  It stands until the first
/// frame that is not 0, which is on a grid line.
void
stage_reset(stage* st);

/// Whether it stands.  A caller that keeps time on the same grid stands with
/// it: stage_pass() for frames of zeros, stage_wake() before the first other.
static inline bool
stage_stands(const stage* st)
{
  return st->mode == STAGE_STANDS;
}

/// Lets `n` frames of zeros pass: out come zeros, which it does not write
void
stage_pass(stage* st, uint32_t n);

/// Begins to play: the next frame is on a grid line
void
stage_wake(stage* st);

/// Processes any number of frames.  Buffers as for x_process().
void
stage_process(stage*              st,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n);

/// In the header of a stage: `extern const stage_ops x_ops`
#define STAGE_DECLARE(x) extern const stage_ops x##_ops;

#define STAGE_OPS_COMMON(x)                                            \
  _Static_assert(_Alignof(x) <= STAGE_ALIGNMENT, "memory of a state"); \
  static bool x##_init_v(void* s, double rate_hz, uint32_t n_channels) \
  {                                                                    \
    return x##_init((x*)s, rate_hz, n_channels);                       \
  }                                                                    \
  static void x##_set_v(void* s, const float* values) NONBLOCKING      \
  {                                                                    \
    x##_set((x*)s, (const x##_params*)(const void*)values);            \
  }                                                                    \
  static void x##_reset_v(void* s) NONBLOCKING                         \
  {                                                                    \
    x##_reset((x*)s);                                                  \
  }                                                                    \
  static void x##_control_v(void* s) NONBLOCKING                       \
  {                                                                    \
    x##_control((x*)s);                                                \
  }                                                                    \
  static void x##_process_v(void* s, const float* const* in,           \
                            float* const* out, uint32_t n) NONBLOCKING \
  {                                                                    \
    x##_process((x*)s, in, out, n);                                    \
  }                                                                    \
  static uint32_t x##_latency_v(const void* s) NONBLOCKING             \
  {                                                                    \
    return x##_latency_frames((const x*)s);                            \
  }

#define STAGE_OPS_FIELDS(x)                                              \
  .size = sizeof(x), .params = x##_param_info, .n_params = x##_n_params, \
  .init = x##_init_v, .set = x##_set_v, .reset = x##_reset_v,            \
  .control = x##_control_v, .process = x##_process_v,                    \
  .latency_frames = x##_latency_v

/// At the end of its source, the table of a stage: without meters ...
#define STAGE_DEFINE(x) STAGE_DEFINE_WITH(x, .memory = NULL)

/// ... with meters ...
#define STAGE_DEFINE_METERED(x) STAGE_DEFINE_METERED_WITH(x, .memory = NULL)

/// ... and of one that needs more than its six functions (`.memory = ...`)
#define STAGE_DEFINE_WITH(x, ...) \
  STAGE_OPS_COMMON(x)             \
  const stage_ops x##_ops = {STAGE_OPS_FIELDS(x), __VA_ARGS__};

#define STAGE_DEFINE_METERED_WITH(x, ...)                                    \
  STAGE_OPS_COMMON(x)                                                        \
  static void x##_meter_v(const void* s, float* values) NONBLOCKING          \
  {                                                                          \
    x##_meter((const x*)s, (x##_meters*)(void*)values);                      \
  }                                                                          \
  const stage_ops x##_ops = {STAGE_OPS_FIELDS(x), .meters = x##_meter_info,  \
                             .n_meters = x##_n_meters, .meter = x##_meter_v, \
                             __VA_ARGS__};

#endif // COMMON_CORE_STAGE_H
