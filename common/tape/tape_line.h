// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The tape between a record and a playback head: a delay that may move.
///
/// Read by a windowed sinc (sinc_read.h) at a distance that the transport's
/// flutter (flutter.h) modulates.  A small change of delay glides, as if the
/// head were pushed: by a smooth step over 100 ms, whose pitch error stays
/// below 3 %.  A large one fades over to a second head in 20 ms.  Changes that
/// come meanwhile wait.
///
/// At rates above 100 kHz only every second or fourth sample is kept, so that
/// the memory holds 250 ms at any rate; the signal written must be empty from
/// half of tape_line_rate_hz() up.  Channels share the heads.  Real-time safe.

#ifndef COMMON_TAPE_TAPE_LINE_H
#define COMMON_TAPE_TAPE_LINE_H

#include "common/core/crossfade.h"
#include "common/core/glide.h"
#include "flutter.h"
#include "sinc_read.h"

enum { TAPE_SIZE = 32768 };

/// A playback head
typedef struct {
  double      from, to; ///< Nominal delay, in frames, and where it moves
  uint32_t    line;     ///< Grid lines done of the move
  bool        moving;
  flutter_lag lag;
  double      p0, p1; ///< Delay on the last two grid lines
  ramp_spline way;    ///< Spline through them
} tape_head;

typedef struct {
  double          rate_hz;
  double          glide_share;
  uint32_t        stride; ///< Frames per sample on the tape
  uint32_t        n_channels;
  const sinc_row* table;

  uint32_t next;  ///< Where the next sample goes
  uint32_t phase; ///< Frames since the last one
  flutter  transport;
  glide    amount; ///< Amount of the transport's flutter, in %
  double   wanted; ///< Delay, in frames

  tape_head head[2];
  uint32_t  active;
  crossfade fade; ///< To the other head

  float tape[MAX_CHANNELS][TAPE_SIZE + SINC_TAPS];
} tape_line;

/// Return the shortest and the longest delay in frames
double
tape_line_least(const tape_line* t);

double
tape_line_most(const tape_line* t);

/// Returns the samples per second on the tape
double
tape_line_rate_hz(const tape_line* t);

void
tape_line_init(tape_line* t, double rate_hz, uint32_t n_channels);

void
tape_line_set(tape_line* t, double delay_frames, double flutter_pc);

/// Erases the tape; jumps to the delay set
void
tape_line_reset(tape_line* t);

/// Does the same with a tape that is erased already: tape_line_size() bytes at
/// `tape`
void
tape_line_restart(tape_line* t);

static inline size_t
tape_line_size(const tape_line* t)
{
  return t->n_channels * sizeof(t->tape[0]);
}

void
tape_line_control(tape_line* t);

/// Reads the next `n` frames off the tape; call before the same frames are
/// written
void
tape_line_read(tape_line* t, float* const* out, uint32_t n);

void
tape_line_write(tape_line* t, const float* const* in, uint32_t n);

#endif // COMMON_TAPE_TAPE_LINE_H
