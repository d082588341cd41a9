// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Feedback delay network: 16 delay lines, a loss in each, and a Hadamard
/// matrix that spreads their outputs over all of them.
///
/// The matrix is orthogonal, so the network keeps energy whatever the lengths,
/// and the losses alone decide how long it rings (S. J. Schlecht, E. A. P.
/// Habets, "On Lossless Feedback Delay Networks", arXiv 1606.07729).  An
/// impulse of energy 1 spread over the lines comes out of each row of the
/// matrix with a power of 1 / fdn_frames() per frame.
///
/// Lengths should be mutually prime; 0.15 modes per Hz and second of decay need
/// a sum of 0.15 * T60 seconds (J. O. Smith, "Physical Audio Signal
/// Processing": delay-line lengths, mode density).  The caller owns the memory
/// of the lines.  All real-time safe; about 20 ns per frame.

#ifndef COMMON_REVERB_FDN_H
#define COMMON_REVERB_FDN_H

#include "absorption.h"

#define FDN_LINES 16

/// Shortest line: a call works on a whole block before anything comes back
#define FDN_MIN_FRAMES CONTROL_FRAMES

enum { FDN_GROUPS = FDN_LINES / 4 };

/// Largest gap between two primes below 31397 (table of maximal prime gaps,
/// from memory): fdn_prime_from() adds less than that up to there
#define FDN_PRIME_GAP 72

/// A block of one signal per line
typedef float fdn_block[FDN_LINES][CONTROL_FRAMES];

typedef struct {
  float*         line[FDN_LINES];   ///< As long as the delay
  uint32_t       length[FDN_LINES]; ///< In frames
  uint32_t       at[FDN_LINES]; ///< Oldest sample, which is read and replaced
  double         rate_hz;
  absorption_fit fit; ///< For the law that the losses go to
  loss_lanes     now[FDN_GROUPS], step[FDN_GROUPS]; ///< `step` while `moving`
  loss_lanes     to[FDN_GROUPS];
  bool           moving;
  loss_memory    memory[FDN_GROUPS];
} fdn;

/// Returns the smallest prime not below `n`
uint32_t
fdn_prime_from(uint32_t n);

/// Gives line `i` its length (at least FDN_MIN_FRAMES, which the caller
/// asserts) and memory for it, which must be zero
void
fdn_set_line(fdn* f, uint32_t i, float* memory, uint32_t length);

/// Returns the sum of all lengths
uint32_t
fdn_frames(const fdn* f);

/// Empties the lines and the losses
void
fdn_reset(fdn* f);

/// Does the same with lines that are empty already
void
fdn_restart(fdn* f);

/// Lets the lines decay by `law` at once
void
fdn_snap_decay(fdn* f, const decay_law* law, double rate_hz);

/// Lets the lines decay by `law` from the next grid line on, and moves there
/// until then.  Call on every grid line while anything moves, and once more.
void
fdn_push_decay(fdn* f, const decay_law* law);

/// The same in two halves, on different grid lines: makes the settings for
/// `law` ...
void
fdn_fit_decay(fdn* f, const decay_law* law);

/// ... and moves there, within `n_lines` grid lines from now on
void
fdn_move_decay(fdn* f, const decay_law* law, uint32_t n_lines);

/// Lets the lines decay at once by `law`, for which the settings were made
void
fdn_snap_fitted(fdn* f, const decay_law* law);

/// Runs `n` frames, at most up to the next grid line.  `in` is added to what
/// enters the lines; `out` gets all 16 rows of the matrix, which are the
/// outputs to choose from (row 0 is the sum of the lines).  Each row has
/// norm 1.
void
fdn_process(fdn* f, fdn_block in, fdn_block out, uint32_t n);

#endif // COMMON_REVERB_FDN_H
