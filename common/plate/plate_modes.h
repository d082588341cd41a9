// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Thousands of decaying modes, two inputs, two outputs, without a delay.
///
/// Mode m responds to an impulse at its input with gain * cos(w t) exp(-s t) at
/// each output.  One by one, 13,000 modes would cost a rotation per frame each.
/// Here they are worked on in blocks of 256 frames instead: the effect of a
/// block of input on all modes is gathered from one Fourier transform, the
/// modes turn by a block at once, and their output in a block is spread into
/// another transform (plate_grid.h).  That is exact to -113 dB of a steady
/// response, -100 dB of a tail after 2 s (measured), at a ninth of the work at
/// 48 kHz; rounding does not build up either, because a mode turns 190 times in
/// a second, not 48,000 times.
///
/// A block is worked on while the next comes in, an equal share on each line of
/// the control grid, and is heard in the one after that.  Until then the first
/// 512 frames of the impulse response, which are kept as a filter, stand in for
/// it.  Losses are constant over bands of a sixth of an octave or of a grid
/// step, whichever is less.
///
/// Changing losses: each block has its own; in it every mode loses what it
/// should, from the frame that excited it on, and the filter goes along.
/// Nothing steps, however fast the change.
///
/// Real-time safe except for plate_modes_init(), which takes some milliseconds.

#ifndef COMMON_PLATE_PLATE_MODES_H
#define COMMON_PLATE_PLATE_MODES_H

#include "common/core/lanes.h"
#include "plate_decay.h"
#include "plate_fft.h"
#include "plate_grid.h"

#define PLATE_MODES_INPUTS  2
#define PLATE_MODES_OUTPUTS 2

/// Highest mode, as a share of the rate
#define PLATE_MODES_TOP 0.45

/// Enough for 12,813 modes at any rate from DSP_MIN_RATE_HZ on
#define PLATE_MODES_MAX_BANDS  256
#define PLATE_MODES_MAX_GROUPS 3600

/// Nodes from -PLATE_GRID_REACH on
#define PLATE_MODES_NODES 240

/// First frames of the impulse response, and room for a tile after them
#define PLATE_MODES_HEAD (2 * PLATE_GRID_BLOCK)
#define PLATE_MODES_TILE 16

/// Grid lines of a block, over which its work is shared out
enum { PLATE_MODES_LINES = PLATE_GRID_BLOCK / CONTROL_FRAMES };

typedef struct {
  double   f_hz;
  uint32_t input;
  double   gain[PLATE_MODES_OUTPUTS];
} plate_mode;

typedef void (*plate_mode_visit)(void* to, const plate_mode* mode);

/// Visits all modes up to `limit_hz`, the same ones in the same order each time
typedef void (*plate_mode_list)(double           limit_hz,
                                plate_mode_visit visit,
                                void*            to);

/// Four modes of one band
typedef struct {
  f32x4 weight[PLATE_GRID_TAPS]; ///< Weights of the nodes
  f32x4 turn_re, turn_im;        ///< Turn by a block
  f32x4 gain[PLATE_MODES_OUTPUTS];
} plate_modes_group;

/// Complex values at the nodes, one row per input or output
typedef struct {
  float re[2][PLATE_MODES_NODES], im[2][PLATE_MODES_NODES];
} plate_modes_nodes;

/// Complex values at the nodes around a band, one row per input or output
typedef struct {
  float re[2][8], im[2][8];
} plate_modes_taps;

/// Modes around one node that lose alike
typedef struct {
  double   way; ///< To its centre, in decades from 1 kHz
  uint32_t node;
  uint32_t first[PLATE_MODES_INPUTS + 1]; ///< Group of each input's first mode
  double   loss[2]; ///< Nepers per frame: next block, this block
  double   half[2]; ///< Share of a mode after half a block, likewise
  float    keep;    ///< Share of the modes from this block to the next
  plate_grid_matrix spread, gather;

  /// Output of the modes of each input, undamped, 128 and 384 frames after an
  /// impulse
  plate_modes_taps head[PLATE_MODES_INPUTS][2];
} plate_modes_band;

/// Flat state, 1.1 MiB: may be embedded and zeroed
typedef struct {
  /// Impulse response, from input 0 to both outputs, then from input 1
  f32x4 kernel[PLATE_MODES_HEAD + PLATE_MODES_TILE];
  f32x4 next_kernel[PLATE_MODES_HEAD + PLATE_MODES_TILE];
  f32x4 new_kernel[PLATE_MODES_HEAD + PLATE_MODES_TILE]; ///< For the next block

  plate_modes_group group[PLATE_MODES_MAX_GROUPS];
  plate_modes_band  band[PLATE_MODES_MAX_BANDS];
  uint32_t          n_bands, n_groups;

  double     rate_hz;
  plate_grid grid;
  plate_fft  fft;

  /// Up to which band each line runs them, and renews them while losses change
  uint32_t run_to[PLATE_MODES_LINES], renew_to[PLATE_MODES_LINES];

  plate_decay want;   ///< As asked for
  plate_decay decay;  ///< Decay of the next block
  uint32_t    renew;  ///< Blocks for which bands must still be renewed
  bool        fading; ///< In this block, from `kernel` to `next_kernel`
  uint32_t    jump;   ///< Steps done of a jump to `decay`; all unless standing

  uint32_t at; ///< Frame in the block
  float    history[PLATE_MODES_INPUTS]
               [PLATE_MODES_TILE + 2 * PLATE_GRID_BLOCK + PLATE_MODES_TILE];
  float tail[PLATE_MODES_OUTPUTS][PLATE_GRID_BLOCK]; ///< Heard in this block
  float next_tail[PLATE_MODES_OUTPUTS]
                 [PLATE_GRID_BLOCK]; ///< ... in the next one
  plate_modes_nodes gathered, spread, head[PLATE_MODES_INPUTS][2];
  f32x4             re[PLATE_MODES_MAX_GROUPS],
    im[PLATE_MODES_MAX_GROUPS]; ///< The modes
} plate_modes;

/// Takes the modes of `list`; reset before use.  False if there are too many.
bool
plate_modes_init(plate_modes* b, double rate_hz, plate_mode_list list);

/// Sets the losses, from about the next block on; they change between blocks
void
plate_modes_set_decay(plate_modes* b, const plate_decay* decay);

/// Forgets the signal; keeps the losses
void
plate_modes_silence(plate_modes* b);

/// Forgets the signal; jumps to the losses set.  Takes a tenth of a
/// millisecond.
void
plate_modes_reset(plate_modes* b);

/// Does the same with modes that are still already: plate_modes_size() bytes at
/// `re` and `im` each.  Takes as long only if plate_modes_prepare() has not
/// done its part, and nothing is left of it while the losses stay.
void
plate_modes_restart(plate_modes* b);

static inline size_t
plate_modes_size(const plate_modes* b)
{
  return b->n_groups * sizeof(b->re[0]);
}

/// Takes a step of the jump to the losses set, without sound.  False if nothing
/// was left to do.
bool
plate_modes_prepare(plate_modes* b);

/// Takes a line of the control grid, before its frames.  An `idle` bank follows
/// its losses but leaves its modes alone.
void
plate_modes_control(plate_modes* b, bool idle);

/// Processes `n` frames, up to the next grid line; out[k] may be in[k]
void
plate_modes_process(plate_modes*        b,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n);

/// Lets the frames of an idle bank pass
static inline void
plate_modes_skip(plate_modes* b, uint32_t n)
{
  b->at = (b->at + n) % PLATE_GRID_BLOCK;
}

#endif // COMMON_PLATE_PLATE_MODES_H
