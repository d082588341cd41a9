// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Thousands of decaying modes, two inputs, two outputs, without a delay.
///
/// Mode m answers an impulse at its input with gain * cos(w t) exp(-s t) at
/// each output.  One by one, 13,000 modes would cost a rotation per frame
/// each.  Here they are worked on in blocks of 256 frames instead: what a block
/// of input does to all modes is gathered from one Fourier transform, the modes
/// turn by a block at once, and what they put out in a block is spread into
/// another transform (modal_grid.h).  That is exact to -113 dB of a steady
/// answer, -100 dB of a tail after 2 s (measured), a ninth of the work at 48
/// kHz; rounding does not build up either, because a mode turns 190 times in a
/// second, not 48,000 times.
///
/// A block is worked on while the next comes in, an equal share on each line of
/// the control grid, and is heard in the one after that.  Until then the first
/// 512 frames of the impulse response, which are kept as a filter, answer for
/// it.  Losses are constant over bands of a sixth of an octave or of a grid
/// step, whichever is less.
///
/// Changing losses: each block has its own, every mode loses in it what it
/// would lose, from the frame on that excited it, and the filter goes along.
/// Nothing steps, however fast the change.
///
/// Real-time safe but for modal_init(), which takes some milliseconds.

#ifndef COMMON_MODAL_H
#define COMMON_MODAL_H

#include "modal_decay.h"
#include "modal_fft.h"
#include "modal_grid.h"

#define MODAL_INPUTS  2
#define MODAL_OUTPUTS 2

/// Highest mode, as a share of the rate
#define MODAL_TOP 0.45

/// Enough for 12,813 modes at any rate from DSP_MIN_RATE_HZ on
#define MODAL_MAX_BANDS  256
#define MODAL_MAX_GROUPS 3600

/// Nodes from -MODAL_REACH on
#define MODAL_NODES 240

/// First frames of the impulse response, and room for a tile behind them
#define MODAL_HEAD (2 * MODAL_BLOCK)
#define MODAL_TILE 16

/// Grid lines of a block, over which its work is shared out
enum { MODAL_LINES = MODAL_BLOCK / CONTROL_FRAMES };

typedef float modal_lanes __attribute__((vector_size(16)));

typedef struct {
  double   f_hz;
  uint32_t input;
  double   gain[MODAL_OUTPUTS];
} modal_mode;

typedef void (*modal_visit)(void* to, const modal_mode* mode);

/// Visits all modes up to `limit_hz`, the same ones in the same order each time
typedef void (*modal_list)(double limit_hz, modal_visit visit, void* to);

/// Four modes of one band
typedef struct {
  modal_lanes weight[MODAL_TAPS]; ///< Of the nodes
  modal_lanes turn_re, turn_im;   ///< By a block
  modal_lanes gain[MODAL_OUTPUTS];
} modal_group;

/// Complex values at the nodes, one row per input or output
typedef struct {
  float re[2][MODAL_NODES], im[2][MODAL_NODES];
} modal_nodes;

/// Complex values at the nodes around a band, one row per input or output
typedef struct {
  float re[2][8], im[2][8];
} modal_taps;

/// Modes around one node that lose alike
typedef struct {
  double       way; ///< To its centre, in decades from 1 kHz
  uint32_t     node;
  uint32_t     first[MODAL_INPUTS + 1]; ///< Group of each input's first mode
  double       loss[2]; ///< Nepers per frame: next block, this block
  double       half[2]; ///< What half a block leaves of a mode, likewise
  float        keep;    ///< Of the modes, from this block to the next
  modal_matrix spread, gather;

  /// What the modes of each input put out, undamped, 128 and 384 frames after
  /// an impulse
  modal_taps head[MODAL_INPUTS][2];
} modal_band;

/// Flat state, 1.1 MiB: may be embedded and zeroed
typedef struct {
  /// Impulse response, from input 0 to both outputs, then from input 1
  modal_lanes kernel[MODAL_HEAD + MODAL_TILE];
  modal_lanes next_kernel[MODAL_HEAD + MODAL_TILE];
  modal_lanes new_kernel[MODAL_HEAD + MODAL_TILE]; ///< For the next block

  modal_group group[MODAL_MAX_GROUPS];
  modal_band  band[MODAL_MAX_BANDS];
  uint32_t    n_bands, n_groups;

  double     rate_hz;
  modal_grid grid;
  modal_fft  fft;

  /// Up to which band each line runs them, and renews them while losses change
  uint32_t run_to[MODAL_LINES], renew_to[MODAL_LINES];

  modal_decay want;   ///< As asked for
  modal_decay decay;  ///< Of the next block
  uint32_t    renew;  ///< Blocks for which bands must still be renewed
  bool        fading; ///< In this block, from `kernel` to `next_kernel`

  uint32_t    at; ///< Frame in the block
  float       history[MODAL_INPUTS][MODAL_TILE + 2 * MODAL_BLOCK + MODAL_TILE];
  float       tail[MODAL_OUTPUTS][MODAL_BLOCK];      ///< Heard in this block
  float       next_tail[MODAL_OUTPUTS][MODAL_BLOCK]; ///< ... in the next one
  modal_nodes gathered, spread, head[MODAL_INPUTS][2];
  modal_lanes re[MODAL_MAX_GROUPS], im[MODAL_MAX_GROUPS]; ///< The modes
} modal;

/// Take the modes of `list`; to be reset before it sounds.  False if there are
/// too many.
bool
modal_init(modal* b, double rate_hz, modal_list list);

/// Losses from about the next block on; taken between blocks
void
modal_set_decay(modal* b, const modal_decay* decay);

/// Forget the signal, keep the losses
void
modal_silence(modal* b);

/// Forget the signal, be at the losses asked for.  A tenth of a millisecond.
void
modal_reset(modal* b);

/// On each line of the control grid, before its frames.  An `idle` bank follows
/// its losses but leaves its modes alone.
void
modal_control(modal* b, bool idle);

/// `n` frames, up to the next grid line; out[k] may be in[k]
void
modal_process(modal* b, const float* const* in, float* const* out, uint32_t n);

/// An idle bank's frames pass
static inline void
modal_skip(modal* b, uint32_t n)
{
  b->at = (b->at + n) % MODAL_BLOCK;
}

#endif // COMMON_MODAL_H
