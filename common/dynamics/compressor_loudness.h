// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a compressor does to the loudness of playing, from its settings alone
/// (common/core/playing.h).
///
/// Based on the energy of dry guitar at ALIGN_RMS_DBFS, by the level that
/// the compressor reads while it sounds: a distribution fitted to the loudness
/// (ITU-R BS.1770) that plucked-string takes, strummed, picked, muted and solo,
/// lose at thresholds of -60 to 0 dBFS and ratios of 1.5 to 20 (computed).  The
/// static curve, integrated over it, gives the loss, which make-up restores:
/// within 0.6 LU on the takes it was made for, 1.2 LU on others.
///
/// Pure, a few libm calls; real-time safe.

#ifndef COMMON_DYNAMICS_COMPRESSOR_LOUDNESS_H
#define COMMON_DYNAMICS_COMPRESSOR_LOUDNESS_H

/// Returns the change of loudness in LU, 0 or less, for a curve of
/// gain_computer.h with a threshold in dBFS of a sine's peak.  `offset_db` is
/// how far above the short power mean (as a sine's peak) the compressor reads:
/// 0 if it reads that.
double
compressor_loudness_lu(double threshold_db,
                       double slope,
                       double knee_db,
                       double offset_db);

/// Returns the offset of a follower of waveform peaks with given times: the
/// longer the release and the shorter the attack, the higher it stays (fit,
/// within 1 dB of the mean of the takes from 0.1 to 100 ms and 10 to 2000 ms).
/// Single strings and chords differ in the crest of their waveforms, which such
/// a follower sees: no constant then keeps both closer than some 2.5 LU.
double
compressor_loudness_peak_offset_db(double attack_s, double release_s);

#endif // COMMON_DYNAMICS_COMPRESSOR_LOUDNESS_H
